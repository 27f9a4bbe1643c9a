"""The connection assistant on an ideal board, key after key."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailwise.harness.wiring import plain_wiring
from tailwise.layoutfile.library import find_layout
from tailwise.learn.assistant import ConnectionAssistant
from tailwise.model.layout import Layout
from tests.observe.board import MS, SECOND, Board

LAYOUT = find_layout("demo-7x6")
EACH_US = 250 * MS
Turn = Callable[[tuple[str, ...], tuple[str, ...]], tuple[str, ...]]


def sitting_as(order: tuple[str, ...]) -> Layout:
    """The keyboard with its lines on board lines 0, 1, 2 ... in this order."""
    return replace(LAYOUT, tails=None, rows=order, columns=(), singles=())


def asked_and_pressed(order: tuple[str, ...]) -> ConnectionAssistant:
    assistant = ConnectionAssistant(LAYOUT, 24)
    pressed: list[str] = []
    while assistant.picture().found is None and len(pressed) < 30:
        again = ConnectionAssistant(LAYOUT, 24)
        board = Board(sitting_as(order))
        for number, done in enumerate(pressed):
            board.press(done, 2_500 * MS + number * EACH_US)
        for record in board.records(2_500 * MS + len(pressed) * EACH_US):
            again.hear(record)
        assistant = again
        key = assistant.picture().asking
        if key is None:
            break
        pressed.append(key)
    return assistant


@pytest.mark.parametrize(
    ("turn", "how"),
    [
        (lambda j1, j2: (*j1, *j2), "right"),
        (lambda j1, j2: (*reversed(j1), *j2), "tail J1 reversed"),
        (lambda j1, j2: (*j1, *reversed(j2)), "tail J2 reversed"),
    ],
)
def test_the_way_is_named_and_the_wiring_follows(turn: Turn, how: str) -> None:
    one, two = (tail.lines for tail in LAYOUT.tails or ())
    order = turn(one, two)
    found = asked_and_pressed(order).picture().found
    assert found is not None
    assert (found.how, found.right) == (how, how == "right")
    assert found.presses <= 6
    assert found.wiring is not None
    assert found.wiring.board_line == {line: number for number, line in enumerate(order)}


def test_a_wiring_of_no_known_kind_is_learned_line_by_line() -> None:
    lines = LAYOUT.lines
    order = tuple(lines[(place * 5 + 3) % len(lines)] for place in range(len(lines)))
    assistant = asked_and_pressed(order)
    found = assistant.picture().found
    assert found is not None and "line by line" in found.how
    assert found.wiring is not None
    assert found.wiring.board_line == {line: number for number, line in enumerate(order)}
    assert assistant.picture().line_by_line


def test_silence_is_an_answer_too() -> None:
    assistant = ConnectionAssistant(LAYOUT, 24)
    for record in Board(LAYOUT).records(3 * SECOND):
        assistant.hear(record)
    first = assistant.picture().asking
    assert first is not None
    assistant.nothing_happened()
    now = assistant.picture()
    assert now.last == (first, ())
    assert now.states[first].value in ("mute", "asked")
    skipped = now.asking
    assert skipped is not None
    assistant.skip()
    assert assistant.picture().states[skipped].value == "skipped"
    assert assistant.picture().asking not in (None, skipped)


def test_nothing_counts_before_the_rest_is_over() -> None:
    assistant = ConnectionAssistant(LAYOUT, 24)
    board = Board(LAYOUT)
    board.press("Q", 500 * MS)
    for record in board.records(1500 * MS):
        assistant.hear(record)
    now = assistant.picture()
    assert now.resting and now.asking is None and now.presses == 0


def test_the_plain_wiring_is_the_one_the_harness_takes() -> None:
    assert ConnectionAssistant(LAYOUT, 24).picture().found is None
    assert plain_wiring(LAYOUT).board_line["R1"] == 0


def test_answers_that_contradict_each_other_are_given_up() -> None:
    assistant = ConnectionAssistant(LAYOUT, 24)
    board = Board(LAYOUT)
    keys = [key.id for key in LAYOUT.keys]
    for number in range(45):
        board.press(keys[number * 5 % len(keys)], 2_500 * MS + number * EACH_US)
    for record in board.records(2_500 * MS + 46 * EACH_US):
        assistant.hear(record)
    now = assistant.picture()
    assert now.asking is None and now.presses == 3 * len(LAYOUT.lines)
    assert now.found is not None and now.found.open_lines and now.found.wiring is None
