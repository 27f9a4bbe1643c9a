"""Verdict, grade and coverage from observations and findings."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tailwise.layoutfile.library import find_layout
from tailwise.model.fault import Fault, FaultKind, Steadiness
from tailwise.model.finding import Finding
from tailwise.model.layout import Key, Position
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Attempt, AttemptResult, Dropout, Joined, Observations, Press
from tailwise.verdict.coverage import coverage_of
from tailwise.verdict.decide import Verdict, decide, flexed_us
from tailwise.verdict.rubric import parse_rubric

DEMO = find_layout("demo-7x6")
MS, SECOND = 1_000, 1_000_000


def pressed(times: int = 1, *, without: str | None = None) -> tuple[Press, ...]:
    return tuple(
        Press(key.id, at * SECOND, at * SECOND + 100 * MS)
        for at in range(3, 3 + times)
        for key in DEMO.keys
        if key.id != without
    )


SOUND = Observations(DEMO, presses=pressed(), started=True, rest_done=True, end_us=60 * SECOND, closures={("R1", "C1"): 1})


def finding(kind: FaultKind, steadiness: Steadiness = Steadiness.STEADY) -> Finding:
    return Finding(Fault(kind, steadiness=steadiness), 0.9, ("because",))


def verdict(observations: Observations, *findings: Finding) -> Verdict:
    return decide(observations, findings).verdict


def test_sound_needs_the_rest_check_and_every_key_seen() -> None:
    assert verdict(SOUND) is Verdict.SOUND
    assert verdict(replace(SOUND, rest_done=False)) is Verdict.UNPROVEN
    assert verdict(replace(SOUND, presses=pressed(without="A"))) is Verdict.UNPROVEN


def test_a_key_stated_pressed_but_never_seen_is_not_sound() -> None:
    assert verdict(replace(SOUND, presses=pressed(without="A"), every_key_pressed=True)) is Verdict.UNPROVEN


def test_a_key_seen_only_inside_a_rectangle_is_not_sound() -> None:
    doubtful = Press("A", SECOND, 2 * SECOND, certain=False)
    assert verdict(replace(SOUND, presses=(*pressed(without="A"), doubtful))) is Verdict.UNPROVEN


def test_a_reading_no_key_explains_is_not_sound() -> None:
    short = Joined(("C1", "C2"), 3 * SECOND, 4 * SECOND, steady=False)
    assert verdict(replace(SOUND, joined=(short,))) is Verdict.UNPROVEN
    stuck = Joined(("R1", "C1"), 0, 4 * SECOND, steady=True)
    assert verdict(replace(SOUND, joined=(stuck,))) is Verdict.UNPROVEN
    hasty = Joined(("R1", "C1"), 1900 * MS, 2 * SECOND, steady=False)
    assert verdict(replace(SOUND, joined=(hasty,))) is Verdict.SOUND


def test_what_drops_out_again_and_again_is_not_sound_though_nobody_knows_why() -> None:
    def drops(*starts_ms: int) -> tuple[Dropout, ...]:
        return tuple(Dropout(start * MS, start * MS + 900, ("A",), ()) for start in starts_ms)

    assert verdict(replace(SOUND, dropouts=drops(3000, 9000))) is Verdict.SOUND
    assert verdict(replace(SOUND, dropouts=drops(3000, 3010, 3020, 3030, 9000))) is Verdict.SOUND
    assert verdict(replace(SOUND, dropouts=drops(3000, 9000, 12000))) is Verdict.UNPROVEN


def test_any_finding_is_faulty() -> None:
    assert verdict(SOUND, finding(FaultKind.WRONG_LAYOUT)) is Verdict.FAULTY


@pytest.mark.parametrize("kind", [FaultKind.FOREIGN_VOLTAGE, FaultKind.HARNESS_FAULT])
def test_faults_outside_the_keyboard_make_it_untestable(kind: FaultKind) -> None:
    assert verdict(SOUND, finding(FaultKind.OPEN_LINE), finding(kind)) is Verdict.UNTESTABLE


@pytest.mark.parametrize(
    "observations",
    [replace(SOUND, started=False), replace(SOUND, link_lost=True), replace(SOUND, closures={}, presses=())],
    ids=["never started", "link not regained", "nothing closed at all"],
)
def test_what_was_not_connected_is_untestable(observations: Observations) -> None:
    assert verdict(observations) is Verdict.UNTESTABLE


def test_flexing_lasts_until_the_next_turn_and_changes_the_grade_only() -> None:
    marks = (
        Mark(10 * SECOND, Deed.FLEX, zone="tail"),
        Mark(12 * SECOND, Deed.NOTE, text="x"),
        Mark(30 * SECOND, Deed.FLEX, zone="neck"),
        Mark(35 * SECOND, Deed.STILL),
        Mark(55 * SECOND, Deed.FLEX, zone="left"),
    )
    flexed = replace(SOUND, marks=marks, presses=pressed(3))
    assert flexed_us(flexed) == 30 * SECOND
    assert decide(flexed, ()).grade.name == "fit"
    still = replace(flexed, marks=())
    assert decide(still, ()).verdict is Verdict.SOUND
    assert decide(still, ()).grade.name == "fair"


def test_grades_follow_findings_and_a_shops_own_rubric() -> None:
    assert decide(SOUND, [finding(FaultKind.OPEN_LINE)]).grade.name == "failed"
    assert decide(SOUND, [finding(FaultKind.INTERMITTENT_LINE, Steadiness.INTERMITTENT)]).grade.name == "frail"
    own = parse_rubric(
        "format: tailwise-rubric/1\ngrades: [A, B]\nrules:\n"
        "  - {grade: B, when: {dropouts_above: 0}, because: x, to_raise: y}\n  - {grade: A, because: x, to_raise: y}\n",
        "own",
    )
    assert decide(SOUND, (), own).grade.name == "A"
    shaky = replace(SOUND, dropouts=(Dropout(1, 2, ("A",), ()),))
    assert decide(shaky, (), own).grade.name == "B"


def test_coverage_counts_presses_and_names_the_untried() -> None:
    facts = coverage_of(replace(SOUND, presses=pressed(2, without="A")))
    assert (facts.keys, facts.tried, facts.untried, facts.presses) == (42, 41, ("A",), 82)
    assert facts.miss_bound_95 == 1.0
    assert facts.least_presses == 2


def test_the_bound_is_that_of_the_key_pressed_least() -> None:
    """1-0.05^(1/n): one press 0.95, ten 0.2589 (rule of three in its exact form)."""
    assert coverage_of(SOUND).miss_bound_95 == pytest.approx(0.95)
    assert coverage_of(replace(SOUND, presses=pressed(10))).miss_bound_95 == pytest.approx(0.2589, abs=5e-5)
    assert coverage_of(replace(SOUND, presses=pressed(10)[1:])).miss_bound_95 == pytest.approx(1 - 0.05 ** (1 / 9))


def test_silent_attempts_count_as_misses() -> None:
    missed = Attempt("A", 0, SECOND, AttemptResult.SILENT)
    facts = coverage_of(replace(SOUND, presses=pressed(10), attempts=(missed,)))
    assert 0.2589 < facts.miss_bound_95 < 0.5


def test_keys_no_line_reaches_are_not_counted() -> None:
    extra = Key("RESTORE", "RESTORE", None, None, Position(0, 0))
    layout = replace(DEMO, keys=(*DEMO.keys, extra))
    facts = coverage_of(replace(SOUND, layout=layout))
    assert (facts.keys, facts.untried) == (42, ())
    assert verdict(replace(SOUND, layout=layout)) is Verdict.SOUND
