"""Things that come and go: the line, the contact, a stretch, or the finger."""

from __future__ import annotations

from dataclasses import replace

from tailwise.diagnose.engine import diagnose
from tailwise.model.fault import FaultKind, Place, Steadiness
from tailwise.model.finding import Finding
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Attempt, AttemptResult
from tests.diagnose.worlds import STEP_US, Script, demo


def _kinds(finding: Finding) -> set[FaultKind]:
    return {finding.fault.kind} | {rival.fault.kind for rival in finding.rivals}


def test_three_keys_of_one_column_accuse_the_column() -> None:
    script = Script(demo()).walk()
    for key in ("3", "Y", "F"):
        script.drop((key,))
    (finding,) = diagnose(script.observations())
    assert finding.fault.kind is FaultKind.INTERMITTENT_LINE
    assert finding.fault.lines == ("C3",)
    assert finding.fault.place == Place("C3", None, "Y")
    assert finding.fault.steadiness is Steadiness.INTERMITTENT
    assert len(finding.fault.keys) == 7


def test_two_witnesses_settle_it_at_once() -> None:
    script = Script(demo()).walk().drop(("3", "Y"), ("1",), bridged=True)
    (finding,) = diagnose(script.observations())
    assert finding.fault.lines == ("C3",)
    assert any("same instant" in sentence for sentence in finding.evidence)


def test_a_witness_that_stays_closed_clears_the_line() -> None:
    script = Script(demo()).walk()
    for _ in range(4):
        script.drop(("3",), ("Y", "2"))
    (finding,) = diagnose(script.observations())
    assert finding.fault.kind in (FaultKind.INTERMITTENT_CONTACT, FaultKind.BROKEN_TRACE)
    assert FaultKind.INTERMITTENT_LINE not in _kinds(finding)


def test_one_dropout_or_one_doubled_press_is_no_finding() -> None:
    assert diagnose(Script(demo()).walk().drop(("3",)).observations()) == ()
    assert diagnose(Script(demo()).walk().drop(("3",), open_us=80_000).drop(("K",), open_us=90_000).observations()) == ()


def test_keys_beyond_a_stretch_only() -> None:
    script = Script(demo()).walk()
    for _ in range(3):
        for lost in ("M", "N", "SPACE"):
            script.drop((lost,), ("K",))
    (finding,) = diagnose(script.observations())
    assert finding.fault.kind is FaultKind.BROKEN_TRACE
    assert finding.fault.place == Place("R6", "K", "M")
    assert finding.fault.steadiness is Steadiness.INTERMITTENT


def test_a_column_that_goes_missing_for_a_while_and_comes_back() -> None:
    script = Script(demo()).walk()
    for key in ("3", "Y", "F", "W", "0"):
        script.press(key, works=False)
    for key in ("3", "Y", "F", "W", "0"):
        script.press(key)
    (finding,) = diagnose(script.observations())
    assert finding.fault.kind is FaultKind.INTERMITTENT_LINE
    assert finding.fault.lines == ("C3",)


def test_three_lines_of_one_edge_that_swallow_presses_in_turn_are_one_crack() -> None:
    script = Script(demo()).walk()
    for key in ("1", "2", "3", "5", "P", "E", "W", "J", "S", "L", "F"):
        script.press(key, works=key in ("5", "J"))
    (finding,) = diagnose(script.observations())
    assert finding.fault.kind is FaultKind.INTERMITTENT_LINE
    assert finding.fault.lines == ("C1", "C2", "C3")


def test_a_crack_whose_third_line_nobody_held_is_a_rival_of_the_wider_one() -> None:
    script = Script(demo()).walk()
    for pair in (("1", "R"), ("2", "T")) * 4:
        script.drop(pair, bridged=True)
    (finding,) = diagnose(script.observations())
    assert finding.fault.lines == ("C1", "C2")
    assert ("C1", "C2", "C3") in {rival.fault.lines for rival in finding.rivals}


def test_partner_lines_that_stay_joined_through_the_film_are_cleared() -> None:
    """Rows of one edge are lost with the column; joined through its film they still reach the harness."""
    for bridged in (True, False):
        script = Script(demo()).walk()
        for _ in range(3):
            script.drop(("1", "P"), bridged=bridged)
        (finding,) = diagnose(script.observations())
        named = {finding.fault.lines, *(rival.fault.lines for rival in finding.rivals)}
        assert finding.fault.lines == ("C1",)
        assert any(line.startswith("R") for lines in named for line in lines) is not bridged


def test_a_key_that_is_back_sooner_than_a_finger_again_and_again() -> None:
    script = Script(demo()).walk()
    for _ in range(6):
        script.read("K", held_us=700_000)
        script.at_us += 740_000
    (finding,) = diagnose(script.observations())
    assert finding.fault.steadiness is Steadiness.INTERMITTENT
    assert FaultKind.INTERMITTENT_CONTACT in _kinds(finding)


def test_a_press_missed_now_and_then_is_the_operator() -> None:
    script = Script(demo()).walk()
    for key in ("3", "K"):
        script.press(key, works=False).press(key)
    assert diagnose(script.observations()) == ()


def test_a_fault_seen_while_silent_and_working_is_not_called_dead() -> None:
    script = Script(demo())
    for key in ("3", "Y", "F"):
        script.drop((key,))
    script.attempts.append(Attempt("W", script.at_us, script.at_us + STEP_US, AttemptResult.SILENT))
    kinds = {each.fault.kind for each in diagnose(script.observations())}
    assert FaultKind.DEAD_CONTACT not in kinds


def test_the_zone_that_moves_it_is_named() -> None:
    script = Script(demo()).walk()
    script.at_us += 1_000_000
    start = script.at_us
    for key in ("3", "Y", "F", "3", "Y"):
        script.drop((key,))
    observations = script.observations()
    (finding,) = diagnose(replace(observations, marks=(Mark(start, Deed.FLEX, zone="fold"),)))
    assert finding.zone == "fold"
    assert any("fold" in sentence for sentence in finding.evidence)
