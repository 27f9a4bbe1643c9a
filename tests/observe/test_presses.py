"""Presses, bounce by the published definitions, dropouts, and what is neither."""

from __future__ import annotations

import pytest

from tailwise.layoutfile.library import find_layout
from tailwise.model.mark import Deed, Mark
from tailwise.observe.bounce import split
from tailwise.observe.drafts import Draft, Opening
from tests.observe.board import MS, SECOND, Board
from tests.observe.folding import observed
from tests.observe.layouts import grid

DEMO = find_layout("demo-7x6")
GRID = grid(3, 3)


def draft(*openings: tuple[int, int | None], start: int = 0) -> Draft:
    return Draft(start, 0, openings=[Opening(one, other, True) for one, other in openings], settled=True, certain=True)


def test_make_bounce_runs_from_the_first_closure_to_the_last_reopening() -> None:
    """ASTM F1661-09, quoted in its two definitions."""
    parts = split(draft((300, 500), (2000, 2400), (100 * MS, None)), 200 * MS)
    assert (parts.make_us, parts.break_us, parts.end_us, parts.dropouts) == (2000, 0, 100 * MS, ())


def test_break_bounce_runs_from_the_first_opening_to_the_last_closure_before_rest() -> None:
    parts = split(draft((100 * MS, 100_200), (101 * MS, 101_500), (102 * MS, None)), 200 * MS)
    assert (parts.make_us, parts.break_us, parts.end_us) == (0, 1500, 102 * MS)
    assert parts.dropouts == ()


def test_no_reversal_is_no_bounce() -> None:
    parts = split(draft((100 * MS, None)), 200 * MS)
    assert (parts.make_us, parts.break_us) == (0, 0)


def test_a_quiet_gap_of_half_a_millisecond_does_not_split_a_bounce() -> None:
    """A measured part is quiet from 0.09 to 0.56 ms inside one bounce (gsuberland, switch_bouncing)."""
    parts = split(draft((20, 90), (560, 700), (80 * MS, None)), 100 * MS)
    assert parts.make_us == 560


def test_an_opening_in_the_middle_is_a_dropout() -> None:
    parts = split(draft((300, 500), (50 * MS, 52 * MS), (100 * MS, None)), 200 * MS)
    assert [(each.start_us, each.end_us) for each in parts.dropouts] == [(50 * MS, 52 * MS)]


def test_an_opening_just_before_now_may_still_be_break_bounce() -> None:
    held = draft((50 * MS, 51 * MS))
    assert split(held, 53 * MS).dropouts == ()
    assert split(held, 70 * MS).dropouts == ()
    assert len(split(held, 71 * MS).dropouts) == 1


def test_one_late_reopening_of_a_dome_is_still_make_bounce() -> None:
    """Polyester domes bounce up to 20 ms (makers' figures)."""
    parts = split(draft((17 * MS, 18 * MS), (60 * MS, 61 * MS), (100 * MS, 101 * MS), (118 * MS, None)), 200 * MS)
    assert (parts.make_us, parts.break_us) == (17 * MS, 1 * MS)
    assert [each.start_us for each in parts.dropouts] == [60 * MS]


def test_an_opening_in_a_blind_stretch_is_no_dropout() -> None:
    hidden = draft((50 * MS, 52 * MS), (100 * MS, None))
    hidden.openings[0].hidden = True
    assert split(hidden, 200 * MS).dropouts == ()


def test_bounce_after_a_blind_beginning_and_before_a_blind_end_is_no_dropout() -> None:
    veiled = draft((1 * MS, 2 * MS), (50 * MS, 51 * MS), (99 * MS, 99_500), (100 * MS, None))
    veiled.begun_blind = veiled.openings[-1].hidden = True
    parts = split(veiled, 200 * MS)
    assert (parts.make_us, parts.break_us, parts.end_us) == (0, 0, 100 * MS)
    assert [each.start_us for each in parts.dropouts] == [50 * MS]


def test_openings_close_to_a_blind_stretch_may_be_bounce_of_a_press_nobody_saw() -> None:
    veiled = draft((30 * MS, 31 * MS), (60 * MS, 61 * MS), (100 * MS, 101 * MS), (200 * MS, None))
    veiled.veils.append((65 * MS, 90 * MS))
    assert [each.start_us for each in split(veiled, 300 * MS).dropouts] == [30 * MS]


def test_bounce_is_measured_to_a_scan() -> None:
    board = Board(DEMO, scan_us=100)
    board.press("A", 2500 * MS, 110 * MS, bounces=[(500, 1000), (3000, 3500), (106 * MS, 107 * MS)])
    (press,) = observed(board, 3 * SECOND).presses
    assert abs(press.make_bounce_us - 3000) <= 100
    assert abs(press.break_bounce_us - 1000) <= 100
    assert abs(press.start_us - 2500 * MS) <= 100


def test_a_doubled_press_is_two_presses_and_no_dropout() -> None:
    board = Board(DEMO)
    board.press("A", 2500 * MS, 80 * MS)
    board.press("A", 2640 * MS, 80 * MS)
    seen = observed(board, 3 * SECOND)
    assert [press.key for press in seen.presses] == ["A", "A"]
    assert seen.dropouts == ()


def test_one_contact_that_opens_is_told_from_the_keys_that_stay() -> None:
    board = Board(DEMO)
    board.press("A", 2500 * MS, 500 * MS, bounces=[(200 * MS, 203 * MS)])
    board.press("4", 2500 * MS, 500 * MS)
    seen = observed(board, 4 * SECOND)
    assert [(each.lost, each.kept, each.bridged) for each in seen.dropouts] == [(("A",), ("4",), False)]


@pytest.mark.parametrize("length_us", [1 * MS, 30 * MS, 150 * MS, 900 * MS])
def test_a_line_lost_before_its_keys_loses_them_together_and_leaves_the_bridge(length_us: int) -> None:
    board = Board(DEMO)
    for key in ("A", "E", "F"):
        board.press(key, 2500 * MS, 2000 * MS)
    board.lose("R4", 3 * SECOND, 3 * SECOND + length_us)
    seen = observed(board, 6 * SECOND)
    assert [(each.lost, each.kept, each.bridged) for each in seen.dropouts] == [(("A", "E"), ("F",), True)]
    assert abs(seen.dropouts[0].end_us - seen.dropouts[0].start_us - length_us) <= 2 * board.scan_us
    assert sorted(press.key for press in seen.presses) == ["A", "E", "F"]
    assert seen.joined == ()


def test_an_opening_shorter_than_two_scans_says_nothing_of_the_keys_it_may_have_missed() -> None:
    for phase in range(0, 1000, 90):
        board = Board(DEMO, scan_us=1000)
        for key in ("A", "E"):
            board.press(key, 2500 * MS, 500 * MS)
        board.lose("R4", 2700 * MS + phase, 2700 * MS + phase + 500)
        for dropout in observed(board, 4 * SECOND).dropouts:
            assert (dropout.kept, dropout.bridged) == ((), False)


def test_fingers_that_leave_together_and_come_back_apart_are_presses() -> None:
    board = Board(DEMO)
    for key, back in (("A", 700 * MS), ("E", 712 * MS)):
        board.press(key, 2500 * MS, 500 * MS)
        board.press(key, 2500 * MS + back, 200 * MS)
    seen = observed(board, 4 * SECOND)
    assert len(seen.presses) == 4
    assert seen.dropouts == ()


def test_a_long_opening_of_a_key_that_a_mark_says_is_held_is_a_dropout() -> None:
    board = Board(DEMO)
    board.press("A", 2500 * MS, 500 * MS)
    board.press("A", 3200 * MS, 500 * MS)
    assert len(observed(board, 5 * SECOND).presses) == 2
    board.marks += [Mark(2400 * MS, Deed.HOLD, key="A"), Mark(4 * SECOND, Deed.RELEASE, key="A")]
    seen = observed(board, 5 * SECOND)
    assert [press.key for press in seen.presses] == ["A"]
    assert [(each.lost, each.start_us // MS, each.end_us // MS) for each in seen.dropouts] == [(("A",), 3000, 3200)]


@pytest.mark.parametrize("marked", [True, False])
def test_a_bend_that_keeps_a_line_open_for_seconds_is_an_opening_where_marks_say_that_its_keys_are_held(marked: bool) -> None:
    board = Board(DEMO)
    for key in ("A", "E"):
        board.press(key, 2500 * MS, 7 * SECOND)
        if marked:
            board.marks += [Mark(2400 * MS, Deed.HOLD, key=key)]
    board.lose("R4", 3 * SECOND, 6 * SECOND)
    seen = observed(board, 12 * SECOND)
    assert [each.lost for each in seen.dropouts] == ([("A", "E")] if marked else [])
    assert len(seen.presses) == (2 if marked else 4)


def test_a_single_key_that_is_away_for_seconds_was_let_go_whatever_the_mark_says() -> None:
    board = Board(DEMO)
    board.press("A", 2500 * MS, 500 * MS)
    board.press("A", 6 * SECOND, 500 * MS)
    board.marks += [Mark(2400 * MS, Deed.HOLD, key="A")]
    assert observed(board, 8 * SECOND).dropouts == ()


def test_a_key_only_seen_inside_a_closed_rectangle_is_never_certain() -> None:
    board = Board(GRID)
    for key, at in (("A1", 2500), ("A2", 2600), ("B1", 2700)):
        board.press(key, at * MS, 500 * MS)
    seen = observed(board, 4 * SECOND)
    sure = {press.key for press in seen.presses if press.certain}
    assert sure == {"A1", "A2", "B1"}
    assert {press.key for press in seen.presses if not press.certain} == {"B2"}
    assert seen.dropouts == ()


def test_overlapping_presses_of_fast_typing_are_each_certain() -> None:
    """Keystrokes overlap by up to 100 ms (Dhakal and others, CHI 2018)."""
    board = Board(DEMO)
    at = 2500 * MS
    for key in DEMO.keys:
        board.press(key.id, at, 140 * MS)
        at += 60 * MS
    seen = observed(board, at + SECOND)
    certain = {press.key for press in seen.presses if press.certain}
    assert certain == {key.id for key in DEMO.keys}
    assert seen.dropouts == ()
    assert seen.joined == ()
    assert seen.elsewhere == ()


def test_a_press_at_the_end_is_still_closed() -> None:
    board = Board(DEMO)
    board.press("A", 2500 * MS, 5 * SECOND)
    (press,) = observed(board, 3 * SECOND).presses
    assert press.end_us is None
