"""Two keys held on a line that comes and goes: the join of their partner lines is the line's film, not a short."""

from __future__ import annotations

from tailwise.layoutfile.library import find_layout
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
