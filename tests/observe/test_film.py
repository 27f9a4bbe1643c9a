"""Two keys held on a line that comes and goes: the join of their partner lines is the line's film, not a short."""

from __future__ import annotations

from tailwise.layoutfile.library import find_layout
from tailwise.model.mark import Deed, Mark
from tests.observe.board import MS, SECOND, Board
from tests.observe.folding import observed

DEMO = find_layout("demo-7x6")


def held(*losses: tuple[int, int]) -> Board:
    """4 and K on C4; K goes down while C4 is lost, which then comes back and is lost again."""
    board = Board(DEMO)
    board.press("4", 2400 * MS, 3000 * MS)
    board.press("K", 2600 * MS, 2600 * MS)
    board.lose("C4", 2500 * MS, 3000 * MS)
    for start, end in losses:
        board.lose("C4", start * MS, end * MS)
    return board


def test_a_key_that_goes_down_while_the_line_is_open_is_seen_once_the_line_returned_often_enough() -> None:
    seen = observed(held((3300, 3400), (3600, 3700), (3900, 4000), (4200, 4300)), 7 * SECOND)
    assert seen.joined == ()
    assert {press.key for press in seen.presses if press.certain} == {"4", "K"}
    together = [drop for drop in seen.dropouts if drop.lost == ("4", "K")]
    assert len(together) >= 2 and all(drop.bridged for drop in together)


def test_a_join_that_keeps_other_company_is_no_film() -> None:
    board = Board(DEMO)
    board.join("R1", "R6", 2300 * MS)
    for number, key in enumerate(("4", "4", "1", "4", "4", "4", "4")):
        board.press(key, 2500 * MS + number * 300 * MS)
    seen = observed(board, 7 * SECOND)
    assert [joined.lines for joined in seen.joined] == [("R1", "R6")]
    assert seen.dropouts == ()
    assert not any(press.certain for press in seen.presses)


def test_bounce_of_one_key_brings_no_film_back() -> None:
    """4 is on R1 and C4, K on R6 and C4: chatter of 4 closes and opens C4 to the joined rows again and again."""
    board = Board(DEMO)
    board.join("R1", "R6", 2300 * MS, 11 * SECOND)
    board.press("4", 8 * SECOND, 200 * MS, bounces=[(2 * MS, 4 * MS), (6 * MS, 9 * MS), (11 * MS, 14 * MS), (16 * MS, 18 * MS)])
    seen = observed(board, 12 * SECOND)
    assert [joined.lines for joined in seen.joined] == [("R1", "R6")]


def test_lines_that_stay_joined_after_the_key_that_explained_it_are_joined() -> None:
    """The join begins under 4 and K of one column, which explain it; both are let go and it stays."""
    board = Board(DEMO)
    board.press("4", 2500 * MS, 300 * MS)
    board.press("K", 2550 * MS, 300 * MS)
    board.join("R1", "R6", 2700 * MS, 9 * SECOND)
    seen = observed(board, 12 * SECOND)
    assert [joined.lines for joined in seen.joined] == [("R1", "R6")]
    assert 2800 * MS < seen.joined[0].start_us < 2900 * MS


def test_keys_that_are_held_by_a_mark_keep_their_bridge() -> None:
    board = Board(DEMO)
    for key in ("4", "K"):
        board.marks.append(Mark(2400 * MS, Deed.HOLD, key=key))
        board.press(key, 2500 * MS, 9 * SECOND)
    board.lose("C4", 3000 * MS, 8 * SECOND)
    assert observed(board, 12 * SECOND).joined == ()
