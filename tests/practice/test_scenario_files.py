"""Scenario files: what a good one says, and that a bad one is told with file, line and key."""

from __future__ import annotations

import pytest

from tailwise.layoutfile.nodes import FileProblems
from tailwise.model.fault import FaultKind, Place
from tailwise.practice.bench import Bench
from tailwise.practice.catalogue import find_scenario, scenario_names
from tailwise.practice.naming import keys_beyond, name_fault
from tailwise.practice.plan import EFFECTS
from tailwise.practice.scenario_reader import parse_scenario

HEAD = "format: tailwise-scenario/1\nname: mine\nlayout: demo-7x6\nstory: a story\n"


ALL = {name: find_scenario(name) for name in scenario_names()}


def problems(text: str) -> list[str]:
    with pytest.raises(FileProblems) as caught:
        parse_scenario(text, "mine.yaml")
    return [str(problem) for problem in caught.value.problems]


def test_names_are_the_file_names_and_lists_are_sorted() -> None:
    listed = [scenario.to_json() for scenario in ALL.values()]
    assert [each["name"] for each in listed] == sorted(scenario_names())
    for each in listed:
        assert each["story"] and len(each["story"]) < 400
        for finding in each["expect"]:
            assert set(finding) == {"kind", "lines", "keys", "place"}
            assert finding["lines"] == sorted(finding["lines"]) and finding["keys"] == sorted(finding["keys"])


def test_expectations_name_what_is_planted() -> None:
    """`expect` stands in the file for people; it must not drift away from the faults planted beside it."""
    for scenario in ALL.values():
        planted = {each.fault.kind for each in scenario.setup.planted}
        expected = {each.kind for each in scenario.expect}
        assert expected - {FaultKind.WRONG_LAYOUT} == planted


def test_every_kind_of_fault_can_be_planted() -> None:
    assert set(EFFECTS) == set(FaultKind)


def test_each_scenario_takes_twenty_to_ninety_seconds() -> None:
    for scenario in ALL.values():
        assert 20e6 <= Bench(scenario.setup).performance.end_us <= 90e6


def test_short_forms_are_filled_in_from_the_layout() -> None:
    layout = ALL["sound"].setup.layout
    assert name_fault(layout, FaultKind.OPEN_LINE, ("C3",)).place == Place("C3", None, "Y")
    broken = name_fault(layout, FaultKind.BROKEN_TRACE, ("C1",), before="P")
    assert (broken.keys, broken.place) == (("DOT", "P", "RETURN"), Place("C1", "R", "P"))
    assert name_fault(layout, FaultKind.STUCK_CONTACT, keys=("N",)).lines == ("C6", "R6")
    assert keys_beyond(layout, "C4", "4") == tuple(sorted(layout.keys_on["C4"]))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("format: x\n", "mine.yaml:1: layout: missing"),
        (HEAD + "expect: []\nseeds: 3\n", "mine.yaml:6: seeds: unknown name, did you mean seed?"),
        (HEAD.replace("7x6", "7x7") + "expect: []\n", "did you mean demo-7x6?"),
        (HEAD, "mine.yaml:1: expect: missing"),
        (
            HEAD + "expect: []\nfaults:\n  - {kind: open_lines, line: C3}\n",
            "mine.yaml:7: faults[0].kind: unknown kind open_lines, did you mean open_line?",
        ),
        (HEAD + "expect: []\nfaults:\n  - {kind: open_line, line: D3}\n", "mine.yaml:7: faults[0].line: unknown line D3"),
        (HEAD + "expect: []\nfaults:\n  - {kind: dead_contact}\n", "mine.yaml:7: faults[0]: dead_contact needs one key"),
        (HEAD + "expect: []\nfaults:\n  - {kind: broken_trace, line: C4}\n", "needs `line` and the key `before`"),
        (HEAD + "expect: []\nfaults:\n  - {kind: broken_trace, line: C4, before: Q}\n", "the route of C4 does not visit Q"),
        (HEAD + "expect: []\nfaults:\n  - {kind: tail_misplaced, tail: J1}\n", "faults[0].way: expected one of reversed"),
        (HEAD + "expect: []\nfaults:\n  - {kind: tail_misplaced, way: reversed}\n", "faults[0].tail: missing"),
        (HEAD + "expect: []\nfaults:\n  - {kind: short, lines: [R1, R2], ohm: -3}\n", "faults[0].ohm: -3 is outside"),
        (HEAD + "expect: []\noperator:\n  - {pres: all}\n", "mine.yaml:7: operator[0]: expected one of press, hold"),
        (HEAD + "expect: []\noperator:\n  - {press: [Q, QQ]}\n", "mine.yaml:7: operator[0].press: unknown key QQ"),
        (HEAD + "expect: []\noperator:\n  - {flex: knee}\n", "mine.yaml:7: operator[0].flex: unknown zone knee"),
        (HEAD + "expect: []\noperator:\n  - {reseat: J9}\n", "mine.yaml:7: operator[0].reseat: unknown tail J9"),
        (HEAD + "expect: []\nmarks: [press, jump]\n", "mine.yaml:6: marks: jump is none of press"),
        (HEAD + "expect: []\nhabits: {miss: 2}\n", "mine.yaml:6: habits.miss: 2 is outside 0 .. 1"),
        (HEAD + "expect: [\n", "not readable as YAML"),
    ],
)
def test_what_is_wrong_is_said(text: str, expected: str) -> None:
    assert any(expected in problem for problem in problems(text)), problems(text)


def test_an_unknown_scenario_names_the_nearest() -> None:
    with pytest.raises(FileProblems, match=r"did you mean open-column\?"):
        find_scenario("open-colum")
