"""Readings with nothing pressed, and readings no key explains."""

from __future__ import annotations

from tailwise.layoutfile.library import find_layout
from tailwise.model.observation import LineHeld, Observations
from tailwise.observe.rest import rest_done
from tailwise.observe.tracker import Tracker
from tailwise.wire.messages import LineStatus
from tests.observe.board import MS, SECOND, Board, to_records
from tests.observe.folding import fold, observed
from tests.observe.layouts import grid

DEMO = find_layout("demo-7x6")
GRID = grid(3, 3, without=frozenset({"C3"}))


def lines(seen: Observations) -> list[tuple[tuple[str, str], bool]]:
    return [(each.lines, each.steady) for each in seen.joined]


def test_a_short_is_joined_steadily_and_keys_on_it_are_unknown() -> None:
    board = Board(DEMO)
    board.join("C1", "C2", 0)
    board.press("A", 2500 * MS)
    board.press("2", 2700 * MS)
    seen = observed(board, 3 * SECOND)
    assert lines(seen) == [(("C1", "C2"), True)]
    assert [(press.key, press.certain) for press in seen.presses if press.key == "A"] == [("A", True)]
    assert sorted((press.key, press.certain) for press in seen.presses if press.key != "A") == [("1", False), ("2", False)]


def test_a_stuck_key_is_joined_not_pressed_and_its_neighbours_stay_certain() -> None:
    board = Board(DEMO)
    board.contact("1", 0, True)
    board.press("2", 2500 * MS)
    seen = observed(board, 3 * SECOND)
    assert lines(seen) == [(("R1", "C1"), True)]
    assert [(press.key, press.certain) for press in seen.presses] == [("2", True)]


def test_a_stuck_key_makes_rectangles_with_others() -> None:
    board = Board(GRID)
    board.contact("A1", 0, True)
    board.press("A2", 2500 * MS, 500 * MS)
    board.press("B1", 2600 * MS, 100 * MS)
    seen = observed(board, 4 * SECOND)
    assert {press.key for press in seen.presses if press.certain} == {"A2"}
    assert {press.key for press in seen.presses if not press.certain} == {"B1", "B2"}


def test_three_lines_shorted_give_every_pair() -> None:
    board = Board(DEMO)
    board.join("R1", "R2", 0)
    board.join("R2", "C5", 0)
    seen = observed(board, 3 * SECOND)
    assert [each.lines for each in seen.joined] == [("R1", "C5"), ("R1", "R2"), ("R2", "C5")]
    assert all(each.steady for each in seen.joined)


def test_a_join_that_comes_and_goes_at_rest_is_not_steady() -> None:
    board = Board(DEMO)
    board.join("C1", "C2", 300 * MS, 700 * MS)
    board.join("C1", "C2", 900 * MS, 2500 * MS)
    seen = observed(board, 3 * SECOND)
    assert lines(seen) == [(("C1", "C2"), False)] * 2
    assert seen.elsewhere == ()


def test_a_join_that_opens_after_the_rest_check_was_steady_then() -> None:
    board = Board(DEMO)
    board.join("C1", "C2", 0, 2500 * MS)
    seen = observed(board, 3 * SECOND)
    assert lines(seen) == [(("C1", "C2"), True)]
    assert abs(seen.joined[0].end_us - 2500 * MS) < MS


def test_a_short_that_comes_later_is_joined_but_not_steady() -> None:
    board = Board(DEMO)
    board.join("R6", "R7", 2500 * MS, 2800 * MS)
    seen = observed(board, 3 * SECOND)
    assert lines(seen) == [(("R6", "R7"), False)]


def test_a_crosspoint_without_a_key_is_told_as_elsewhere() -> None:
    board = Board(GRID)
    board.join("C", "3", 2500 * MS, 2600 * MS)
    seen = observed(board, 3 * SECOND)
    assert seen.elsewhere == (("C", "3"),)
    assert seen.presses == ()


def test_a_crosspoint_without_a_key_inside_a_rectangle_is_explained() -> None:
    board = Board(GRID)
    for key in ("C1", "A1", "A3"):
        board.press(key, 2500 * MS, 300 * MS)
    seen = observed(board, 3 * SECOND)
    assert seen.closures[("C", "3")] == 1
    assert (seen.elsewhere, seen.joined) == ((), ())
    assert {press.key for press in seen.presses if press.certain} == {"C1", "A1", "A3"}


def test_what_opens_and_closes_within_a_scan_never_stood() -> None:
    board = Board(DEMO)
    board.join("C1", "C2", 2500 * MS, 2500 * MS + 150)
    seen = observed(board, 3 * SECOND)
    assert seen.joined == ()
    assert sum(seen.closures.values()) >= 1


def test_a_join_read_in_one_direction_says_so() -> None:
    board = Board(DEMO)
    board._edge(0, ("C1", "C2"), 1)
    seen = observed(board, 3 * SECOND)
    assert [(each.lines, each.one_way, each.steady) for each in seen.joined] == [(("C1", "C2"), True, True)]


def test_the_rest_check_needs_two_seconds_and_few_gaps() -> None:
    assert not observed(Board(DEMO), 1900 * MS).rest_done
    assert observed(Board(DEMO), 2100 * MS).rest_done
    tracker = Tracker(DEMO)
    tracker.end_us = 3 * SECOND
    tracker.blind = [(0, 400 * MS, "x"), (1950 * MS, 2500 * MS, "x")]
    assert rest_done(tracker)
    tracker.blind.append((1000 * MS, 1100 * MS, "x"))
    assert not rest_done(tracker)


def test_the_line_check_is_named_by_the_layout() -> None:
    board = Board(DEMO, statuses={"R1": LineStatus.HELD_HIGH, "C6": LineStatus.HELD_LOW, "C5": LineStatus.NOT_CHECKED})
    held = observed(board, 3 * SECOND).held
    assert {line: state for line, state in held.items() if state is not LineHeld.CLEAR} == {
        "R1": LineHeld.HIGH,
        "C6": LineHeld.LOW,
        "C5": LineHeld.NOT_CHECKED,
    }
    assert set(held) == set(DEMO.lines)


def test_partners_of_held_keys_are_no_join_although_their_presses_lay_in_a_gap() -> None:
    board = Board(DEMO)
    board.press("A", 2502 * MS, 500 * MS)
    board.press("E", 2502 * MS, 500 * MS)
    board.lose("R4", 2695 * MS, 2725 * MS)
    gap = range(2501 * MS, 2699 * MS)
    seen = fold(DEMO, to_records([each for each in board.frames(4 * SECOND) if each[1] - 100 * MS not in gap]))
    assert len(seen.blind) == 1
    assert seen.closures[("C2", "C4")] == 1
    assert (seen.joined, seen.dropouts) == ((), ())
    assert {press.key for press in seen.presses} == {"A", "E"}


def test_a_short_that_began_in_a_gap_is_told() -> None:
    board = Board(DEMO)
    board.join("C1", "C2", 2600 * MS)
    gap = range(2501 * MS, 2699 * MS)
    seen = fold(DEMO, to_records([each for each in board.frames(4 * SECOND) if each[1] - 100 * MS not in gap]))
    assert lines(seen) == [(("C1", "C2"), False)]


def test_slow_scans_through_bounce_make_no_join_of_partner_lines() -> None:
    """The common line's key may look open at every sample of a scan while its partners already read joined."""
    for phase in range(0, 3000, 250):
        board = Board(DEMO, scan_us=3000)
        board.press("A", 2400 * MS, 400 * MS)
        board.press("E", 2500 * MS + phase, 200 * MS, [(1100, 2700), (3500, 4000)])
        seen = observed(board, 3 * SECOND)
        assert (seen.joined, seen.dropouts) == ((), ())
        assert {press.key for press in seen.presses if press.certain} == {"A", "E"}


def test_a_join_that_lasts_makes_keys_on_its_lines_unknown() -> None:
    board = Board(DEMO)
    board.join("C1", "C2", 2500 * MS, 2900 * MS)
    board.press("2", 2600 * MS, 100 * MS)
    board.press("2", 3000 * MS, 100 * MS)
    seen = observed(board, 4 * SECOND)
    assert lines(seen) == [(("C1", "C2"), False)]
    assert sorted((press.key, press.certain) for press in seen.presses) == [("1", False), ("2", False), ("2", True)]
