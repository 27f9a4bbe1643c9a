"""Two runs of one keyboard: the socket, or the membrane."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tailwise.diagnose.engine import diagnose
from tailwise.diagnose.reseat import Between, diagnose_pair
from tailwise.model.fault import FaultKind
from tailwise.model.mark import Deed, Mark
from tests.diagnose.worlds import Script, demo


def test_a_line_that_works_after_reseating_came_and_went() -> None:
    before = demo()
    before.cut.add("C3")
    compared = diagnose_pair(Script(before).walk().observations(), Script(demo()).walk().observations(), Between.RESEATED)
    assert compared.changed == ("C3",)
    (finding,) = compared.findings
    assert finding.fault.kind is FaultKind.INTERMITTENT_LINE
    assert finding.fault.lines == ("C3",)
    assert any("reseated" in sentence and "socket" in sentence for sentence in finding.evidence)
    assert any("socket" in sentence for sentence in compared.not_tested)


def test_a_line_that_stays_silent_is_open() -> None:
    runs = []
    for _ in range(2):
        world = demo()
        world.cut.add("C3")
        runs.append(Script(world).walk().observations())
    compared = diagnose_pair(runs[0], runs[1], Between.RESEATED)
    assert compared.unchanged == ("C3",)
    (finding,) = compared.findings
    assert finding.fault.kind is FaultKind.OPEN_LINE
    assert any("after the tail was reseated" in sentence for sentence in finding.evidence)


def test_a_line_that_works_past_the_socket_is_the_socket() -> None:
    before = demo()
    before.cut.add("R2")
    past = Script(demo()).walk().observations()
    compared = diagnose_pair(Script(before).walk().observations(), past, Between.PAST_SOCKET)
    (finding,) = compared.findings
    assert finding.fault.lines == ("R2",)
    assert "socket" in finding.next_step
    assert compared.changed == ("R2",)


def test_what_only_the_second_run_shows_counts() -> None:
    compared = diagnose_pair(
        Script(demo()).walk().observations(), Script(demo()).join("R2", "R3").walk().observations(), Between.RESEATED
    )
    (finding,) = compared.findings
    assert finding.fault.kind is FaultKind.SHORT
    assert finding.fault.lines == ("R2", "R3")


def test_runs_of_two_layouts_cannot_be_compared() -> None:
    one, other = Script(demo()).walk().observations(), Script(demo("demo-8x8")).walk().observations()
    with pytest.raises(ValueError, match="demo-8x8"):
        diagnose_pair(one, other, Between.RESEATED)


def test_a_reseat_mark_inside_a_run_is_cited() -> None:
    script = Script(demo()).walk()
    for key in ("3", "Y", "F", "W"):
        script.press(key, works=False)
    mark = Mark(script.at_us, Deed.RESEAT, tail="J2")
    for key in ("3", "Y", "F", "W"):
        script.press(key)
    (finding,) = diagnose(replace(script.observations(), marks=(mark,)))
    assert finding.fault.lines == ("C3",)
    assert any("changed when the tail was reseated" in sentence for sentence in finding.evidence)
    assert "reseat" not in finding.next_step
    other = replace(mark, tail="J1")
    (finding,) = diagnose(replace(script.observations(), marks=(other,)))
    assert not any("reseated" in sentence for sentence in finding.evidence)
