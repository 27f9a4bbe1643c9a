"""A keyboard nobody described: what closes, what is joined, what flickers."""

from __future__ import annotations

import pytest

from tailwise.layoutfile.library import find_layout
from tailwise.learn.bare import bare_layout
from tailwise.learn.raw import RawWatch
from tailwise.live.run import Run, RunSettings
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


def test_a_line_that_leaves_the_others_and_comes_back_is_the_one_that_flickers() -> None:
    board = Board(LAYOUT)
    for key in ("1", "2", "3"):
        board.contact(key, 2_500 * MS, True)
    board.lose("R1", 3_000 * MS, 3_020 * MS)
    board.contact("2", 3_200 * MS, False)
    now = watched(board, 3_500 * MS).picture()
    assert now.line_flickers == {0: 1}
    assert now.flickers == {(0, 7): 1, (0, 8): 1, (0, 9): 1}


@pytest.mark.parametrize(
    ("scenario", "flickers"),
    [("fast-typist-8x8", None), ("bouncing-key", None), ("coming-and-going-column", 10), ("unreliable-key", 8)],
)
def test_practice_scenarios_without_a_layout(scenario: str, flickers: int | None) -> None:
    watch = RawWatch(24)
    for _ in Run(RunSettings(f"practice:{scenario}", bare_layout(24), heard=watch.hear, progress_hz=0)).events():
        pass
    assert next(iter(watch.picture().line_flickers), None) == flickers
