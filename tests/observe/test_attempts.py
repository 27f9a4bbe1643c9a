"""What came of presses the operator vouches for, and which keys count as tried."""

from __future__ import annotations

from dataclasses import replace

from tailwise.layoutfile.library import find_layout
from tailwise.model.layout import Key, KeyboardKind, Layout, Position
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Attempt, AttemptResult, Blind, Observations
from tailwise.observe.tried import presses_by_key, silent_keys, untried_keys
from tests.observe.board import MS, SECOND, Board, to_records
from tests.observe.folding import fold, observed, observer_of
from tests.observe.layouts import grid

DEMO = find_layout("demo-7x6")
GRID = grid(2, 2)


def results(seen: Observations) -> list[tuple[str, AttemptResult]]:
    return [(attempt.key, attempt.result) for attempt in seen.attempts]


def test_seen_silent_and_elsewhere() -> None:
    board = Board(DEMO)
    for key, at in (("A", 2500), ("S", 3000), ("D", 3500)):
        board.asked(key, at * MS)
    board.press("A", 2550 * MS)
    board.press("F", 3600 * MS)
    seen = observed(board, 4 * SECOND)
    assert results(seen) == [("A", AttemptResult.SEEN), ("S", AttemptResult.SILENT), ("D", AttemptResult.ELSEWHERE)]
    assert seen.attempts[2].landed == (("R5", "C3"),)


def test_other_keys_held_since_before_are_not_landings() -> None:
    board = Board(DEMO)
    board.press("4", 2300 * MS, 2 * SECOND)
    board.asked("A", 2500 * MS)
    assert results(observed(board, 4 * SECOND)) == [("A", AttemptResult.SILENT)]


def test_a_key_inside_a_closed_rectangle_is_not_to_be_known() -> None:
    board = Board(GRID)
    for key in ("A1", "A2", "B1"):
        board.press(key, 2300 * MS, 2 * SECOND)
    board.asked("B2", 2500 * MS)
    assert results(observed(board, 4 * SECOND)) == [("B2", AttemptResult.UNKNOWN)]


def test_a_mark_without_time_for_a_press_is_not_silence() -> None:
    board = Board(DEMO)
    board.asked("A", 2500 * MS)
    board.asked("S", 2530 * MS)
    board.asked("D", 3990 * MS)
    assert results(observed(board, 4 * SECOND))[0] == ("A", AttemptResult.UNKNOWN)
    assert results(observed(board, 4 * SECOND))[2] == ("D", AttemptResult.UNKNOWN)


def without_frames(board: Board, start_us: int, end_us: int, until_us: int) -> Observations:
    """The run with every frame of the board in this stretch missing."""
    kept = [
        each for each in board.frames(until_us) if each[0] == "tx" or not start_us + 100 * MS <= each[1] <= end_us + 100 * MS
    ]
    return fold(board.layout, to_records(kept, board.marks), every_key_pressed=True)


def test_a_key_whose_only_press_lay_in_a_gap_is_untried_not_dead() -> None:
    board = Board(DEMO)
    end = board.walk()
    at = next(mark.at_us for mark in board.marks if mark.key == "H")
    seen = without_frames(board, at + 30 * MS, at + 200 * MS, end)
    assert dict(results(seen))["H"] is AttemptResult.UNKNOWN
    assert all(result is AttemptResult.SEEN for key, result in results(seen) if key != "H")
    assert untried_keys(seen) == ("H",)
    assert silent_keys(seen) == ()


def test_the_same_without_marks_counts_as_untried_even_when_every_key_was_pressed() -> None:
    board = Board(DEMO)
    end = board.walk(marked=False)
    at = next(each.at_us for each in board.happenings if each.at_us and "R5" in each.edge[1] and "C5" in each.edge[0])
    seen = without_frames(board, at - 20 * MS, at + 150 * MS, end)
    assert untried_keys(seen) == ("H",)


def test_silent_needs_the_operators_word() -> None:
    board = Board(DEMO)
    board.press("A", 2500 * MS)
    seen = observed(board, 4 * SECOND)
    assert len(untried_keys(seen)) == 41
    assert silent_keys(seen) == ()
    told = replace(seen, every_key_pressed=True)
    assert untried_keys(told) == ()
    assert len(silent_keys(told)) == 41


def test_a_short_blind_stretch_hides_no_press() -> None:
    base = Observations(DEMO, every_key_pressed=True, end_us=9 * SECOND)
    assert untried_keys(replace(base, blind=(Blind(3 * SECOND, 3 * SECOND + 49_999, "x"),))) == ()
    assert len(untried_keys(replace(base, blind=(Blind(3 * SECOND, 3 * SECOND + 50_000, "x"),)))) == 42
    assert untried_keys(replace(base, blind=(Blind(1 * SECOND, 2 * SECOND + 49_999, "x"),))) == ()


def test_where_nothing_was_scanned_nothing_is_silent() -> None:
    assert silent_keys(Observations(DEMO, every_key_pressed=True, end_us=0)) == ()
    assert silent_keys(Observations(DEMO, every_key_pressed=True, end_us=2 * SECOND)) == ()


def test_a_vouched_silence_stands_although_another_stretch_was_blind() -> None:
    seen = Observations(
        DEMO,
        attempts=(Attempt("A", 0, 1, AttemptResult.SILENT), Attempt("S", 1, 2, AttemptResult.UNKNOWN)),
        blind=(Blind(3 * SECOND, 4 * SECOND, "x"),),
        every_key_pressed=True,
        end_us=9 * SECOND,
    )
    assert silent_keys(seen) == ("A",)
    assert "S" in untried_keys(seen)


def a_key(name: str, row: str | None, column: str | None, *also: tuple[str, str]) -> Key:
    return Key(name, name, row, column, Position(0, 0), also=also)


SHARED = Layout(
    "shared",
    "two keys on one crosspoint, one that closes two, one that no line reaches",
    KeyboardKind.FILM,
    ("A", "B"),
    ("1", "2"),
    (
        a_key("LSHIFT", "A", "1"),
        a_key("RSHIFT", "A", "1"),
        a_key("FIVE", "B", "2"),
        a_key("LEFT", "A", "1", ("B", "2")),
        a_key("RESTORE", None, None),
    ),
)


def test_keys_on_one_crosspoint_are_seen_together_unless_a_mark_names_one() -> None:
    board = Board(SHARED)
    board.press("LSHIFT", 2500 * MS)
    assert presses_by_key(observed(board, 3 * SECOND)) == {"FIVE": 0, "LEFT": 0, "LSHIFT": 1, "RSHIFT": 1}
    board.asked("LSHIFT", 2400 * MS)
    assert presses_by_key(observed(board, 3 * SECOND)) == {"FIVE": 0, "LEFT": 0, "LSHIFT": 1, "RSHIFT": 0}


def test_a_key_that_closes_two_crosspoints_at_once_is_named_alone() -> None:
    board = Board(SHARED)
    board.press("LEFT", 2500 * MS)
    observer = observer_of(SHARED, board.records(3 * SECOND))
    assert presses_by_key(observer.observations()) == {"FIVE": 0, "LEFT": 1, "LSHIFT": 0, "RSHIFT": 0}
    assert {key: shown.state.value for key, shown in observer.snapshot().keys.items()} == {
        "FIVE": "never",
        "LEFT": "seen",
        "LSHIFT": "never",
        "RSHIFT": "never",
        "RESTORE": "outside",
    }


def test_shift_and_a_key_one_after_the_other_are_two_keys() -> None:
    board = Board(SHARED)
    board.press("LSHIFT", 2500 * MS, 400 * MS)
    board.press("FIVE", 2650 * MS)
    assert presses_by_key(observed(board, 3 * SECOND)) == {"FIVE": 1, "LEFT": 0, "LSHIFT": 1, "RSHIFT": 1}


def test_a_note_ends_the_mark_before_it() -> None:
    board = Board(DEMO)
    board.asked("A", 2500 * MS)
    board.marks.append(Mark(2800 * MS, Deed.NOTE, text="pause"))
    board.press("A", 3 * SECOND)
    assert results(observed(board, 4 * SECOND)) == [("A", AttemptResult.SILENT)]


def test_the_next_key_pressed_a_moment_before_its_mark_is_no_landing() -> None:
    board = Board(DEMO)
    board.asked("A", 2500 * MS)
    board.asked("S", 3000 * MS)
    board.press("S", 2990 * MS)
    assert results(observed(board, 4 * SECOND)) == [("A", AttemptResult.SILENT), ("S", AttemptResult.SEEN)]


def test_a_mark_beyond_the_end_shows_nothing() -> None:
    board = Board(DEMO)
    board.asked("A", 9 * SECOND)
    (attempt,) = observed(board, 4 * SECOND).attempts
    assert (attempt.result, attempt.start_us, attempt.end_us) == (AttemptResult.UNKNOWN, 9 * SECOND, 9 * SECOND)


def test_what_a_gap_may_hide_landed_nowhere() -> None:
    board = Board(DEMO)
    board.asked("A", 2500 * MS)
    board.press("A", 2550 * MS)
    board.press("F", 3 * SECOND)
    seen = without_frames(board, 2540 * MS, 2700 * MS, 4 * SECOND)
    assert results(seen) == [("A", AttemptResult.UNKNOWN)]
