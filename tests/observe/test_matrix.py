"""What makes a stretch blind, and boards of another build."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tailwise.layoutfile.library import find_layout
from tailwise.model.layout import Diode, Layout
from tailwise.model.observation import AttemptResult, Observations
from tailwise.wire.frames import encode
from tailwise.wire.messages import Identity, Message, State, Transitions
from tailwise.words import judge as words
from tests.observe.board import EPOCH, MS, SECOND, Board, to_records
from tests.observe.folding import fold, observed, observer_of
from tests.observe.layouts import grid

GRID = grid(3, 3)
DEMO = find_layout("demo-7x6")


def with_messages(board: Board, messages: list[tuple[int, Message]]) -> Observations:
    opening = [message for side, message in board.opening() if side == "rx"]
    numbered = [*opening, *(message for _, message in messages)]
    frames = [("rx", 0, encode(message, number % 65536)) for number, message in enumerate(numbered)]
    return fold(board.layout, to_records(frames, board.marks))


def test_a_state_that_counts_dropped_transitions_makes_the_stretch_before_it_blind() -> None:
    board = Board(GRID)
    board.press("A1", 2500 * MS)
    messages = board.messages(3 * SECOND)
    for at, (time, message) in enumerate(messages):
        if isinstance(message, State) and time > 2400 * MS:
            messages[at] = (time, replace(message, dropped=4))
    seen = with_messages(board, messages)
    assert [each.why for each in seen.blind] == [words.BLIND_DROPPED]
    assert 2380 * MS < seen.blind[0].start_us < 2400 * MS < seen.blind[0].end_us
    assert [press.key for press in seen.presses] == ["A1"]


def test_a_state_that_contradicts_the_transitions_makes_the_stretch_before_it_blind() -> None:
    board = Board(GRID)
    board.press("A1", 2500 * MS)
    board.press("B2", 2700 * MS)
    messages = [
        (time, message)
        for time, message in board.messages(3 * SECOND)
        if not (isinstance(message, Transitions) and time < 2550 * MS)
    ]
    seen = with_messages(board, messages)
    assert [each.why for each in seen.blind] == [words.BLIND_CONTRADICTION]
    assert [press.key for press in seen.presses] == ["A1", "B2"]
    assert seen.presses[0].start_us == seen.blind[0].end_us
    assert seen.dropouts == ()


def test_a_board_that_sends_states_only_still_shows_presses_but_accuses_nothing() -> None:
    board = Board(DEMO, state_us=50 * MS)
    end = board.walk()
    messages = [each for each in board.messages(end) if not isinstance(each[1], Transitions)]
    seen = with_messages(board, messages)
    assert {press.key for press in seen.presses} == {key.id for key in DEMO.keys}
    assert seen.dropouts == ()
    assert all(press.make_bounce_us == 0 for press in seen.presses)
    assert {attempt.result for attempt in seen.attempts} == {AttemptResult.SEEN}


@pytest.mark.parametrize(
    "board",
    [
        Board(DEMO, scan_us=200, state_us=20 * MS),
        Board(DEMO, scan_us=1000, state_us=50 * MS, one_delta=True),
        Board(DEMO, scan_us=5000, state_us=50 * MS, gather_us=4 * MS),
        Board(DEMO, scan_us=20_000, state_us=40 * MS, gather_us=4 * MS, board_lines=40),
        Board(DEMO, scan_us=300, board_lines=13, speak_host=False),
        Board(DEMO, scan_us=300, both_ways=False),
    ],
    ids=["quick", "without deltas", "slow", "slowest", "as many lines as wired", "rows driven only"],
)
def test_boards_of_any_build_show_every_press_once(board: Board) -> None:
    end = board.walk()
    seen = observed(board, end)
    assert [press.key for press in seen.presses] == [key.id for key in DEMO.keys]
    assert all(press.certain and press.one_way is None for press in seen.presses)
    assert (seen.dropouts, seen.joined, seen.blind, seen.elsewhere) == ((), (), (), ())
    assert {attempt.result for attempt in seen.attempts} == {AttemptResult.SEEN}
    assert seen.rest_done
    assert seen.scan_us >= board.scan_us


def test_readings_of_lines_that_are_not_wired_are_left_out() -> None:
    board = Board(GRID)
    messages = board.messages(3 * SECOND)
    closed = bytearray(6 * 3)
    closed[2] = 0x80
    for at, (time, message) in enumerate(messages):
        if isinstance(message, State):
            messages[at] = (time, replace(message, closed=bytes(closed)))
    seen = with_messages(board, messages)
    assert (seen.closures, seen.joined, seen.blind) == ({}, (), ())


def test_a_stranger_that_drives_every_line_of_the_board_is_understood_without_its_commands() -> None:
    board = Board(GRID)
    board.press("A1", 2500 * MS)
    messages = board.messages(3 * SECOND)
    for at, (time, message) in enumerate(messages):
        if isinstance(message, State):
            messages[at] = (time, replace(message, closed=message.closed + bytes(18 * 3)))
    assert [press.key for press in with_messages(board, messages).presses] == ["A1"]


def test_states_of_an_impossible_length_are_told_and_used_for_nothing() -> None:
    board = Board(GRID)
    board.press("A1", 2500 * MS)
    records = []
    for number, (_, message) in enumerate(board.messages(3 * SECOND)):
        if isinstance(message, State):
            message = replace(message, closed=message.closed[:-1])
        records.append(("rx", 0, encode(message, number + 9)))
    opening = [(side, 0, encode(message, number)) for number, (side, message) in enumerate(board.opening()) if side == "rx"]
    observer = observer_of(GRID, to_records([*opening, *records]))
    assert observer.odd_states == (words.odd_state(17, 6),)
    assert observer.observations().presses == ()


def test_the_identity_may_be_missing() -> None:
    board = Board(GRID)
    board.press("A1", 2500 * MS)
    frames = [each for each in board.frames(3 * SECOND) if Identity.TYPE not in each[2][2:3]]
    assert [press.key for press in fold(GRID, to_records(frames)).presses] == ["A1"]


def diode_rows(layout: Layout) -> Layout:
    return replace(layout, diodes=tuple(Diode(row, None, "to_tail") for row in layout.rows))


def test_a_key_behind_a_diode_reads_one_way() -> None:
    board = Board(diode_rows(GRID))
    board.press("B2", 2500 * MS)
    seen = observed(board, 3 * SECOND)
    assert [(press.key, press.certain, press.one_way) for press in seen.presses] == [("B2", True, ("B", "2"))]


def test_the_clock_of_the_board_wraps_inside_the_run() -> None:
    assert (EPOCH + 4 * SECOND) >= 1 << 32
    board = Board(GRID)
    board.press("A1", 2950 * MS)
    seen = observed(board, 4 * SECOND)
    assert abs(seen.presses[0].start_us - 2950 * MS) < MS
    assert seen.presses[0].end_us is not None
    assert abs(seen.presses[0].end_us - 3060 * MS) < MS
