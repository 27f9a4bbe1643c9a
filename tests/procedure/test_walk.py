from __future__ import annotations

import random
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from tailwise.model.layout import Position
from tailwise.model.mark import Deed, Mark
from tailwise.procedure.order import reading_order
from tailwise.procedure.outcome import Command, Outcome
from tailwise.procedure.walk import KeyNote, PressWalk
from tests.procedure.sights import LAYOUT, Hands

ORDER = reading_order(LAYOUT)


def deeds(outcome: Outcome) -> list[tuple[Deed, str | None]]:
    return [(mark.do, mark.key) for mark in outcome.marks]


def test_the_walk_follows_the_eye_across_the_drawing() -> None:
    assert ORDER[:3] == ("1", "2", "3")
    assert ORDER[10:12] == ("DEL", "Q")
    assert len(ORDER) == 42


def test_pressing_what_is_asked_walks_through_every_key_and_names_each() -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    marks: list[Mark] = []
    for key in ORDER:
        assert walk.asked == key
        marks += hands.press(key).marks
    assert walk.done
    assert [mark.key for mark in marks] == list(ORDER)
    assert all(mark.do is Deed.PRESS for mark in marks)
    assert walk.those(KeyNote.SEEN) == ORDER


def test_the_mark_lies_before_the_press_was_seen() -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    hands.look(10)
    before = hands.at_us
    (mark,) = hands.press("1").marks
    assert mark.at_us == before


def test_any_order_is_accepted_and_names_nothing_the_operator_did_not_say() -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    shuffled = list(ORDER)
    random.Random(7).shuffle(shuffled)
    shuffled.remove("1")
    for key in shuffled:
        assert hands.press(key).marks == ()
    assert walk.asked == "1"
    assert hands.press("1").marks == ()
    assert walk.done


def test_a_silent_key_is_asked_for_three_times_before_it_is_accused() -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    hands.look(20)
    for times in (1, 2, 3):
        assert walk.asked == "1"
        assert walk.notes["1"] is KeyNote.TODO
        outcome = walk.command(Command.NOTHING)
        assert deeds(outcome) == [(Deed.PRESS, "1"), (Deed.NOTE, None)]
        assert outcome.marks[0].at_us < outcome.marks[1].at_us
        assert walk.tries["1"] == times
        hands.look(20)
    assert walk.notes["1"] is KeyNote.MUTE


def test_after_a_mute_key_comes_one_that_tells_why() -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    hands.look(20)
    mute = LAYOUT.key_by_id["1"]
    for _ in range(3):
        walk.command(Command.NOTHING)
        hands.look(20)
    assert walk.asked is not None
    assert {LAYOUT.key_by_id[walk.asked].row, LAYOUT.key_by_id[walk.asked].column} & {mute.row, mute.column}
    walk = PressWalk(LAYOUT)
    walk.command(Command.SKIP)
    assert walk.asked == "2"


def test_a_silent_key_that_answers_the_second_time_is_seen() -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    hands.look(20)
    walk.command(Command.NOTHING)
    assert deeds(hands.press("1")) == [(Deed.PRESS, "1")]
    assert walk.notes["1"] is KeyNote.SEEN


def test_a_silent_press_is_not_said_to_cover_other_keys_pressed_before_it() -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    hands.press("8")
    seen_us = hands.at_us
    hands.look(10)
    press, _ = walk.command(Command.NOTHING).marks
    assert press.at_us >= seen_us - 150_000
    assert press.key == "1"


def test_a_skipped_key_is_not_tried_and_can_be_asked_again() -> None:
    walk = PressWalk(LAYOUT)
    Hands(walk).look()
    assert walk.command(Command.SKIP).marks == ()
    assert walk.notes["1"] is KeyNote.SKIPPED
    walk.command(Command.BACK)
    assert walk.asked == "1"


def test_saying_which_key_it_was_turns_to_names_and_shows_a_reversed_tail() -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    hands.look(5)
    mirrored = {"1": "6", "2": "5", "3": "4", "4": "3", "5": "2", "6": "1"}
    assert hands.press("6").marks == ()
    assert walk.stray == "6"
    assert deeds(walk.command(Command.IT_WAS)) == [(Deed.PRESS, "1"), (Deed.NOTE, None)]
    assert walk.by_name
    for pressed in ("2", "3", "4", "5", "6"):
        assert walk.asked == pressed
        assert deeds(hands.press(mirrored[pressed])) == [(Deed.PRESS, pressed)]
    assert walk.landed == mirrored
    assert walk.notes["6"] is KeyNote.MOVED


def test_a_key_in_a_rectangle_of_other_keys_is_asked_for_again_alone() -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    hands.doubtful = {"1"}
    hands.look()
    hands.doubtful = set()
    hands.look()
    assert walk.asked == "1"
    assert walk.in_doubt
    hands.press("1")
    assert walk.notes["1"] is KeyNote.SEEN


def test_a_key_in_a_rectangle_with_a_stuck_one_is_left_in_doubt() -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    hands.doubtful, hands.stuck = {"1"}, {"G"}
    hands.look()
    assert walk.in_doubt
    hands.doubtful = set()
    hands.look()
    assert walk.notes["1"] is KeyNote.DOUBT
    assert walk.asked == "2"


def test_a_key_stuck_closed_is_never_asked_for() -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    hands.stuck = {"1", "2"}
    hands.look()
    assert walk.asked == "3"
    assert walk.notes["2"] is KeyNote.STUCK


def test_with_an_operator_of_its_own_the_walk_follows_the_marks_and_makes_none() -> None:
    walk = PressWalk(LAYOUT, vouches=False)
    hands = Hands(walk)
    hands.look()
    walk.hear(Mark(2_100_000, Deed.PRESS, key="G"))
    assert walk.asked == "G"
    assert hands.press("G").marks == ()
    walk.hear(Mark(2_500_000, Deed.PRESS, key="H"))
    hands.look(5)
    walk.hear(Mark(2_900_000, Deed.PRESS, key="J"))
    assert walk.notes["G"] is KeyNote.SEEN
    assert walk.notes["H"] is KeyNote.MUTE
    assert walk.command(Command.NOTHING).marks == ()


@given(st.lists(st.one_of(st.sampled_from(ORDER), st.sampled_from([*Command])), max_size=60))
def test_marks_never_run_backwards_and_each_vouched_press_names_a_key_that_was_asked(steps: list[str]) -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    last = 0
    for step in steps:
        asked = walk.asked
        outcome = walk.command(step) if isinstance(step, Command) else hands.press(step)
        for mark in outcome.marks:
            assert last <= mark.at_us <= hands.at_us
            last = mark.at_us
            assert mark.do is Deed.NOTE or mark.key == asked
        assert walk.asked is None or walk.notes[walk.asked] is KeyNote.TODO


def test_keys_on_one_crosspoint_are_asked_for_by_name_and_never_taken_for_each_other() -> None:
    second = replace(LAYOUT.key_by_id["SHIFT"], id="SHIFT2", position=Position(12, 3), shared=True)
    layout = replace(LAYOUT, keys=(*LAYOUT.keys, second))
    walk = PressWalk(layout)
    hands = Hands(walk)
    hands.look()
    hands.press("SHIFT", "SHIFT2")
    assert walk.those(KeyNote.SEEN) == ()
    for key in ORDER[: ORDER.index("SHIFT")]:
        hands.press(key)
    assert walk.asked == "SHIFT"
    assert deeds(hands.press("SHIFT", "SHIFT2")) == [(Deed.PRESS, "SHIFT")]
    assert walk.notes["SHIFT"] is KeyNote.SEEN
    assert walk.notes["SHIFT2"] is KeyNote.TODO


def test_a_press_split_in_two_says_nothing_about_the_next_key() -> None:
    walk = PressWalk(LAYOUT)
    hands = Hands(walk)
    hands.look()
    hands.press("6")
    walk.command(Command.IT_WAS)
    assert hands.press("6").marks == ()
    assert walk.asked == "2"
    assert deeds(hands.press("5")) == [(Deed.PRESS, "2")]
    assert hands.press("5").marks == ()
    walk.command(Command.IT_WAS)
    assert not walk.by_name
    hands.press("5")
    assert walk.stray is None
    assert deeds(hands.press("3")) == [(Deed.PRESS, "3")]
    walk.command(Command.BACK)
    assert deeds(hands.press("3")) == [(Deed.PRESS, "3")]
