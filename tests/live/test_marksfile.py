"""Marks files: what is taken, and what is said about each kind of mistake."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailwise.layoutfile.nodes import FileProblems
from tailwise.live.marksfile import parse_marks, read_marks
from tailwise.live.wiringfile import read_wiring
from tailwise.model.mark import Deed, Mark
from tests.live.helpers import LAYOUT

ZONE = LAYOUT.zones[0].name


def problems(text: str) -> str:
    with pytest.raises(FileProblems) as found:
        parse_marks(text, "m.yaml", LAYOUT)
    return str(found.value)


def test_every_deed_is_read_and_sorted_by_time() -> None:
    text = f"""
- {{at: 9.5, do: note, text: on the left}}
- {{at: 2.25, do: press, key: 1}}
- {{at: 3, do: hold, key: Q}}
- {{at: 4, do: release, key: Q}}
- {{at: 5, do: flex, zone: {ZONE}}}
- {{at: 6, do: still}}
- {{at: 7, do: reseat, tail: J1}}
"""
    marks = parse_marks(text, "m.yaml", LAYOUT)
    assert marks[0] == Mark(2_250_000, Deed.PRESS, key="1")
    assert [mark.do for mark in marks] == [*list(Deed)[:3], Deed.FLEX, Deed.STILL, Deed.RESEAT, Deed.NOTE]
    assert marks[-1].text == "on the left"


def test_an_empty_list_is_a_list() -> None:
    assert parse_marks("[]", "m.yaml", LAYOUT) == ()


@pytest.mark.parametrize(
    ("text", "line", "word"),
    [
        ("- {at: 1, do: pres, key: Q}", 1, "did you mean press"),
        ("- {at: 1, do: still}\n- {at: 2, do: press}", 2, "key: missing"),
        ("- {at: 1, do: press, key: SHFT}", 1, "did you mean SHIFT"),
        ("- {at: 1, do: flex, zone: nowhere}", 1, "the layout has no zone nowhere"),
        ("- {at: 1, do: reseat, tail: J9}", 1, "J9"),
        ("- {do: still}", 1, "at: missing"),
        ("- {at: -1, do: still}", 1, "outside"),
        ("- {at: soon, do: still}", 1, "number"),
        ("- {at: .nan, do: still}", 1, "finite"),
        ("- {at: 1}", 1, "do: missing"),
        ("- {at: 1, do: still, kee: Q}", 1, "did you mean key"),
        ("- just a word", 1, "mapping"),
        ("at: 1", 1, "list of marks"),
        ("- {at: 1, do: [", 1, "YAML"),
        ("", 1, "empty"),
    ],
)
def test_each_mistake_is_named_with_file_line_and_key(text: str, line: int, word: str) -> None:
    said = problems(text)
    assert said.startswith(f"m.yaml:{line}:") and word in said


def test_all_problems_come_at_once() -> None:
    assert len(problems("- {at: x, do: y}\n- {at: 1, do: press, key: nope}").splitlines()) >= 3


@given(st.text(max_size=80))
def test_any_text_is_marks_or_problems(text: str) -> None:
    try:
        marks = parse_marks(text, "m.yaml", LAYOUT)
    except FileProblems as found:
        assert all(str(problem).startswith("m.yaml:") for problem in found.problems)
    else:
        assert all(isinstance(mark, Mark) for mark in marks)


def test_bytes_that_are_no_text(tmp_path: Path) -> None:
    (tmp_path / "m").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(FileProblems, match="UTF-8"):
        read_marks(tmp_path / "m", LAYOUT)


def test_a_wiring_file(tmp_path: Path) -> None:
    file = tmp_path / "w.yaml"
    file.write_text("\n".join(f"{line}: {39 - at}" for at, line in enumerate(LAYOUT.lines)))
    assert read_wiring(file, LAYOUT).board_line[LAYOUT.lines[0]] == 39


@pytest.mark.parametrize(
    ("text", "word"),
    [("R1: 0", "missing"), ("RR1: 0", "did you mean R1"), ("R1: 40", "outside"), ("R1: x", "number"), ("R1: 1.5", "whole")],
)
def test_a_wiring_that_does_not_fit(text: str, word: str, tmp_path: Path) -> None:
    file = tmp_path / "w.yaml"
    file.write_text(text)
    with pytest.raises(FileProblems, match=word):
        read_wiring(file, LAYOUT)
