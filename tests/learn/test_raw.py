"""A keyboard nobody described: what closes, what is joined, what flickers."""

from __future__ import annotations

from tailwise.layoutfile.library import find_layout
from tailwise.learn.raw import RawWatch
from tests.observe.board import MS, SECOND, Board

LAYOUT = find_layout("demo-7x6")


def watched(board: Board, until_us: int) -> RawWatch:
    watch = RawWatch(24)
    for record in board.records(until_us):
        watch.hear(record)
    return watch


def test_what_was_closed_and_what_is_closed_now() -> None:
    board = Board(LAYOUT)
    board.press("1", 2_500 * MS)
    board.contact("2", 3 * SECOND, True)
    now = watched(board, 3_500 * MS).picture()
    assert now.closed_now == ((0, 8),)
    assert now.ever == {(0, 7), (7, 0), (0, 8), (8, 0)}
    assert not now.stuck and not now.flickers and not now.resting
    assert now.never == tuple(line for line in range(24) if line not in (0, 7, 8))


def test_what_is_closed_at_rest_is_a_short_or_a_stuck_key_until_it_opens() -> None:
    board = Board(LAYOUT)
    board.join("R1", "R2", 0)
    board.contact("W", 0, True)
    board.contact("W", 3 * SECOND, False)
    watch = watched(board, 2_500 * MS)
    assert watch.picture().stuck == {(0, 1), (3, 9)}
    watch = watched(board, 4 * SECOND)
    assert watch.picture().stuck == {(0, 1)}
    assert watched(board, SECOND).picture().resting


def test_an_opening_no_finger_makes_is_flicker_and_bounce_and_releases_are_not() -> None:
    board = Board(LAYOUT)
    board.press("1", 2_500 * MS, 600 * MS, bounces=[(500, 900), (200 * MS, 215 * MS), (300 * MS, 340 * MS)])
    board.press("1", 3_300 * MS)
    board.press("1", 3_500 * MS)
    now = watched(board, 4 * SECOND).picture()
    assert now.flickers == {(0, 7): 2}
    assert now.line_flickers == {0: 2, 7: 2}


def test_it_begins_afresh_with_what_is_closed_now() -> None:
    board = Board(LAYOUT)
    board.press("1", 2_500 * MS)
    board.contact("2", 3 * SECOND, True)
    watch = watched(board, 4 * SECOND)
    watch.afresh()
    now = watch.picture()
    assert now.stuck == {(0, 8)}
    assert now.ever == {(0, 8), (8, 0)}


def test_one_way_contacts_show_their_direction() -> None:
    diodes = find_layout("demo-10x8")
    board = Board(diodes)
    key = next(key for key in diodes.keys if key.crosspoints)
    board.contact(key.id, 2_500 * MS, True)
    now = watched(board, 3 * SECOND).picture()
    assert len(now.now) == 1 and len(now.closed_now) == 1


def test_what_other_contacts_join_as_well_is_no_flicker() -> None:
    board = Board(LAYOUT)
    by_lines = {(key.row, key.column): key.id for key in LAYOUT.keys}
    corner = next(
        (a, b, c)
        for (row, column), a in by_lines.items()
        for (row2, column2), b in by_lines.items()
        if row == row2 and column != column2
        for (row3, column3), c in by_lines.items()
        if column3 == column and row3 != row and (row3, column2) in by_lines
    )
    for at, key in enumerate(corner):
        board.contact(key, 2_500 * MS + at * 100 * MS, True)
    board.contact(corner[1], 3_000 * MS, False)
    board.contact(corner[1], 3_030 * MS, True)
    assert watched(board, 3_500 * MS).picture().flickers == {}
