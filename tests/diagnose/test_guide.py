"""The next step: what it gains for what it costs, and which key to press next."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tailwise.diagnose.components import Components
from tailwise.diagnose.engine import diagnose
from tailwise.diagnose.evidence import Evidence
from tailwise.diagnose.guide import next_presses, something_wrong, telling_key
from tailwise.diagnose.nextstep import PRICES, Step, all_steps, best_step, gain_bits, repair_step
from tailwise.model.fault import Fault, FaultKind, Place
from tailwise.model.observation import AttemptResult
from tests.diagnose.worlds import Script, demo


def test_gain_of_a_step_that_tells_two_even_rivals_apart_is_one_bit() -> None:
    one, other = Fault(FaultKind.SHORT, ("R1", "R2")), Fault(FaultKind.LEAK, ("R1", "R2"))
    beliefs = [(one, 0.5), (other, 0.5)]
    assert gain_bits(beliefs, lambda fault: (1.0, 0.0) if fault is one else (0.0, 1.0)) == pytest.approx(1.0)
    assert gain_bits(beliefs, lambda fault: (0.3, 0.7)) == pytest.approx(0.0)
    assert gain_bits([(one, 0.9), (other, 0.1)], lambda fault: (1.0, 0.0) if fault is one else (0.0, 1.0)) == pytest.approx(
        -(0.9 * math.log2(0.9) + 0.1 * math.log2(0.1))
    )


def test_wear_counts_against_reseating() -> None:
    reseat, harness = PRICES["reseat"], PRICES["harness"]
    assert reseat.total_s > harness.total_s
    assert Step("a", "", reseat, 1.0).worth < Step("b", "", harness, 1.0).worth


def test_rivals_of_one_key_ask_for_the_key_that_tells() -> None:
    world = demo()
    world.broken.add(("R4", "CTRL"))
    script = Script(world)
    for key in world.layout.keys:
        if key.id not in ("CTRL", "A"):
            script.press(key.id)
    for _ in range(3):
        script.press("A")
    (finding,) = diagnose(script.observations())
    assert finding.next_step == "press CTRL three times"


def test_every_kind_has_a_repair_step() -> None:
    world = demo()
    parts = Components(world.layout)
    place = Place("R4", "E", "W")
    for kind in FaultKind:
        assert repair_step(Fault(kind, ("C1", "R4"), ("W",), place), parts)
    assert "248 to 270 mm" in repair_step(Fault(FaultKind.BROKEN_TRACE, ("R4",), ("W",), place), parts)


def test_no_step_where_nothing_is_left_to_tell() -> None:
    evidence = Evidence(Script(demo()).walk().observations(), Components(demo().layout))
    only = Fault(FaultKind.DEAD_CONTACT, (), ("W",))
    assert best_step([(only, 0.99)], evidence) is None
    assert all(step.gain_bits == 0 for step in all_steps([(only, 0.99)], evidence))


def test_nothing_wrong_asks_for_untried_keys_in_order() -> None:
    script = Script(demo()).press("1").press("2")
    observations = script.observations()
    assert not something_wrong(observations)
    assert [step.keys for step in next_presses(observations, most=2)] == [("3",), ("4",)]
    assert next_presses(Script(demo()).walk().observations()) == ()


def test_a_silent_key_asks_for_keys_of_its_lines() -> None:
    world = demo()
    world.cut.add("C3")
    script = Script(world).press("1").press("2").press("3")
    observations = script.observations()
    assert something_wrong(observations)
    key = world.layout.key_by_id[next_presses(observations, most=1)[0].keys[0]]
    assert key.column == "C3" or key.id == "3"


def test_guided_presses_end_in_the_verdict() -> None:
    world = demo()
    world.broken.add(("C4", "G"))
    script = Script(world).press("4").press("A").press("G")
    for _ in range(200):
        steps = next_presses(script.observations(), most=1)
        if not steps:
            break
        script.press(steps[0].keys[0])
    (finding,) = diagnose(script.observations())
    assert finding.fault.place == Place("C4", "A", "G")


def test_an_open_line_joined_to_another_is_two_faults_not_a_wrong_layout() -> None:
    world = demo()
    world.cut.add("R1")
    script = Script(world).walk()
    landed = {key.id: key for key in world.layout.keys if key.row == "R1"}
    attempts = tuple(
        replace(attempt, result=AttemptResult.ELSEWHERE, landed=(("R2", landed[attempt.key].column or ""),))
        if attempt.key in landed
        else attempt
        for attempt in script.observations().attempts
    )
    found = diagnose(replace(script.observations(), attempts=attempts))
    assert [(each.fault.kind, each.fault.lines) for each in found] == [
        (FaultKind.OPEN_LINE, ("R1",)),
        (FaultKind.SHORT, ("R1", "R2")),
    ]


def test_a_walk_asks_for_the_key_that_tells_most() -> None:
    layout = demo().layout
    rest = [key.id for key in layout.keys if key.id != "1"]
    assert telling_key(layout, (), {}, rest) is None
    key = layout.key_by_id[telling_key(layout, (), {"1": 3}, rest) or ""]
    assert {key.row, key.column} & {"R1", "C1"}
    assert telling_key(layout, rest, {"1": 3}, []) is None
