"""The rubric: its shipped rules, a shop's own, and what is said of a bad one."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailwise.layoutfile.nodes import FileProblems
from tailwise.verdict.rubric import GradeFacts, parse_rubric, read_rubric, shipped_rubric

HEAD = "format: tailwise-rubric/1\ngrades: [A]\nrules:"
LAST = "\n  - {grade: A, because: x, to_raise: y}"
BEST = GradeFacts(
    verdict="sound",
    kinds=frozenset(),
    steadiness=frozenset(),
    untried=0,
    least_presses=5,
    miss_bound_95=0.45,
    worst_bounce_ms=4.0,
    dropouts=0,
    flexed_s=60.0,
)


def graded(**changes: object) -> str:
    return shipped_rubric().grade(dataclasses.replace(BEST, **changes)).name  # type: ignore[arg-type]


def test_each_shipped_rule_decides_somewhere() -> None:
    assert graded() == "fit"
    assert graded(verdict="untestable") == "unproven"
    assert graded(verdict="faulty", kinds=frozenset({"open_line"})) == "failed"
    assert graded(verdict="faulty", kinds=frozenset({"intermittent_line"})) == "frail"
    assert graded(verdict="faulty", kinds=frozenset({"intermittent_line", "short"})) == "failed"
    assert graded(verdict="unproven", untried=1) == "unproven"
    assert graded(verdict="unproven") == "unproven"
    assert graded(worst_margin=0.8) == "frail"
    assert graded(worst_margin=3.0) == "fit"
    assert graded(dropouts=1) == "frail"
    assert graded(worst_bounce_ms=21.0) == "fair"
    assert graded(least_presses=2) == "fair"
    assert graded(flexed_s=10.0) == "fair"


def test_a_grade_says_which_rule_decided_and_what_would_raise_it() -> None:
    grade = shipped_rubric().grade(dataclasses.replace(BEST, least_presses=1))
    assert grade.rule == 9
    assert "fewer than three" in grade.because
    assert "three times or more" in grade.to_raise


def test_a_shop_may_have_its_own(tmp_path: Path) -> None:
    path = tmp_path / "shop.yaml"
    path.write_text(
        "format: tailwise-rubric/1\ngrades: [A, B]\nrules:\n"
        "  - {grade: B, when: {presses_below: 10, unmeasured: true}, because: few presses, to_raise: press more}\n"
        "  - {grade: A, because: fine, to_raise: nothing}\n"
    )
    rubric = read_rubric(path)
    assert rubric.grade(BEST).name == "B"
    assert rubric.grade(dataclasses.replace(BEST, least_presses=10)).name == "A"


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("format: tailwise-rubric/9\ngrades: [A]\nrules: [{grade: A, because: x, to_raise: y}]", 1, "format: expected"),
        ("format: tailwise-rubric/1\ngrades: [A]\nrules:\n  - {grade: B, because: x, to_raise: y}", 4, "unknown grade B"),
        (
            HEAD + "\n  - {grade: A, when: {kinds: [open_lime]}, because: x, to_raise: y}" + LAST,
            4,
            "did you mean open_line?",
        ),
        (
            "format: tailwise-rubric/1\ngrades: [A]\nrules:\n  - {grade: A, when: {preses_below: 2}, because: x, to_raise: y}\n"
            "  - {grade: A, because: x, to_raise: y}",
            4,
            "did you mean presses_below?",
        ),
        (
            "format: tailwise-rubric/1\ngrades: [A]\nrules: [{grade: A, when: {dropouts_above: 1}, because: x, to_raise: y}]",
            3,
            "last rule",
        ),
        (
            HEAD + LAST + LAST,
            4,
            "no later one",
        ),
        ("format: tailwise-rubric/1\ngrades: [A]\nrules: []", 3, "at least one rule"),
        ("[", 1, "not readable as YAML"),
    ],
)
def test_a_bad_rubric_gets_file_line_and_key(text: str, line: int, says: str) -> None:
    with pytest.raises(FileProblems) as refusal:
        parse_rubric(text, "shop.yaml")
    assert any(problem.line == line and says in str(problem) for problem in refusal.value.problems), str(refusal.value)
    assert all(str(problem).startswith("shop.yaml:") for problem in refusal.value.problems)


@given(
    st.builds(
        GradeFacts,
        verdict=st.sampled_from(["sound", "faulty", "unproven", "untestable"]),
        kinds=st.frozensets(st.sampled_from(["open_line", "leak", "foreign_voltage"])),
        steadiness=st.frozensets(st.sampled_from(["steady", "intermittent"])),
        untried=st.integers(0, 50),
        least_presses=st.integers(0, 50),
        miss_bound_95=st.floats(0, 1),
        worst_bounce_ms=st.floats(0, 100),
        dropouts=st.integers(0, 50),
        flexed_s=st.floats(0, 500),
        worst_margin=st.none() | st.floats(0, 100),
    )
)
def test_every_keyboard_has_a_grade_and_always_the_same(facts: GradeFacts) -> None:
    grade = shipped_rubric().grade(facts)
    assert grade.name in shipped_rubric().grades
    assert grade == shipped_rubric().grade(facts)
