"""The live picture."""

from __future__ import annotations

from dataclasses import replace

from tailwise.harness.wiring import plain_wiring
from tailwise.model.layout import Key, Position
from tailwise.observe.observer import Observer
from tailwise.observe.snapshot import KeyPicture, KeyState, Snapshot
from tests.observe.board import MS, SECOND, Board
from tests.observe.folding import observer_of
from tests.observe.layouts import grid

GRID = replace(grid(3, 3), keys=(*grid(3, 3).keys, Key("FAR", "FAR", None, None, Position(0, 0))))


def picture(board: Board, until_us: int) -> Snapshot:
    return observer_of(GRID, board.records(until_us)).snapshot()


def test_before_anything_every_key_is_never_seen() -> None:
    shown = picture(Board(GRID), 1)
    assert {key: each.state for key, each in shown.keys.items()} == {
        key.id: KeyState.NEVER if key.crosspoints else KeyState.OUTSIDE for key in GRID.keys
    }
    assert set(shown.flickers.values()) == {0}


def test_closed_now_seen_before_and_how_often() -> None:
    board = Board(GRID)
    board.press("A1", 2200 * MS)
    board.press("A1", 2400 * MS)
    board.press("B2", 2700 * MS, 2 * SECOND)
    shown = picture(board, 3 * SECOND)
    assert shown.keys["A1"] == KeyPicture(KeyState.SEEN, 2)
    assert shown.keys["B2"] == KeyPicture(KeyState.CLOSED, 1)
    assert shown.keys["C3"] == KeyPicture(KeyState.NEVER, 0)
    assert abs(shown.run_us - 3 * SECOND) < 50 * MS


def test_a_closed_rectangle_is_unknown_at_once() -> None:
    board = Board(GRID)
    for key in ("A1", "A2", "B1"):
        board.press(key, 2500 * MS, 2 * SECOND)
    shown = picture(board, 3 * SECOND)
    assert [shown.keys[key].state for key in ("A1", "A2", "B1", "B2")] == [KeyState.UNKNOWN] * 4
    assert shown.keys["C3"].state is KeyState.NEVER


def test_a_key_closed_since_the_start_is_stuck() -> None:
    board = Board(GRID)
    board.contact("A1", 0, True)
    assert picture(board, 1 * SECOND).keys["A1"].state is KeyState.STUCK


def test_openings_count_for_both_lines_and_bounce_does_not() -> None:
    board = Board(GRID)
    board.press("A1", 2500 * MS, 400 * MS, bounces=[(500, 900), (100 * MS, 103 * MS), (200 * MS, 203 * MS)])
    shown = picture(board, 3 * SECOND)
    assert {line: count for line, count in shown.flickers.items() if count} == {"A": 2, "1": 2}
    assert shown.keys["A1"].drops == 2


def test_joined_lines_are_shown_while_they_are() -> None:
    board = Board(GRID)
    board.join("1", "2", 2500 * MS, 2700 * MS)
    assert picture(board, 2650 * MS).joined == (("1", "2"),)
    assert picture(board, 3 * SECOND).joined == ()


def test_transitions_show_before_a_state_confirms_them() -> None:
    board = Board(GRID, state_us=50 * MS)
    board.press("A1", 2501 * MS, 2 * SECOND)
    records = board.records(3 * SECOND)
    observer = Observer(GRID, plain_wiring(GRID))
    for at, record in enumerate(records):
        observer.feed(record)
        if observer.snapshot().keys["A1"].state is KeyState.CLOSED:
            assert observer.observations().presses == ()
            assert at < len(records) - 1
            break
    else:
        raise AssertionError("the press was never shown")
