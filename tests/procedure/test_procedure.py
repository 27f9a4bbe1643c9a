from __future__ import annotations

from tailwise.model.mark import Deed, Mark
from tailwise.procedure.keystate import KeyState
from tailwise.procedure.outcome import Command, Sound
from tailwise.procedure.procedure import Procedure, Stage
from tailwise.procedure.walk import KeyNote
from tailwise.words import stages as words
from tests.procedure.sights import LAYOUT, Hands


def test_the_rest_check_ends_after_two_seconds_of_board_time_and_leads_to_the_walk() -> None:
    procedure = Procedure(LAYOUT)
    assert procedure.prompt().text == words.REST_WAIT
    hands = Hands(procedure, at_us=0)
    hands.look(39)
    assert (procedure.stage, procedure.rest.left_us) == (Stage.REST, 50_000)
    assert Sound.STEP in hands.look().sounds
    assert procedure.stage is Stage.WALK


def test_the_rest_check_cannot_be_left_early() -> None:
    procedure = Procedure(LAYOUT)
    Hands(procedure, at_us=0).look()
    procedure.go(Stage.VERDICT)
    procedure.watch("R1")
    assert procedure.stage is Stage.REST


def test_what_closes_during_the_rest_check_is_said() -> None:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure, at_us=0)
    hands.hold("G")
    hands.look()
    assert "G" in procedure.prompt().more
    hands.joined = [("R1", "R2")]
    assert Sound.JOINED in hands.look().sounds
    assert "R1 and R2" in procedure.prompt().more


def test_every_state_of_the_map_can_be_reached_and_has_a_symbol_and_a_word_of_its_own() -> None:
    assert set(words.SYMBOLS) == set(words.STATE_WORDS) == set(words.STATE_MEANINGS) == {state.value for state in KeyState}
    assert len(set(words.SYMBOLS.values())) == len(KeyState)
    assert len(set(words.STATE_WORDS.values())) == len(KeyState)
    assert max(map(len, words.STATE_WORDS.values())) <= 4


def test_the_map_shows_the_most_telling_state() -> None:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure)
    hands.stuck = {"P"}
    hands.look()
    hands.press("1")
    hands.press("2")
    hands.dropped["2"] = 1
    hands.down = {"9"}
    hands.doubtful = {"8"}
    hands.look()
    procedure.command(Command.SKIP)
    for _ in range(3):
        procedure.command(Command.NOTHING)
    states = procedure.states()
    expected = {
        "P": KeyState.STUCK,
        "1": KeyState.SEEN,
        "2": KeyState.DROPS,
        "3": KeyState.SKIPPED,
        "4": KeyState.MUTE,
        "5": KeyState.ASKED,
        "6": KeyState.TODO,
        "8": KeyState.DOUBT,
        "9": KeyState.DOWN,
    }
    assert {key: states[key] for key in expected} == expected


def test_leaving_the_flex_watch_closes_it_with_marks() -> None:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure)
    hands.look()
    procedure.watch("R1")
    hands.hold("1")
    hands.look()
    procedure.command(Command.NEXT)
    deeds = [mark.do for mark in procedure.go(Stage.VERDICT).marks]
    assert deeds == [Deed.STILL, Deed.RELEASE]


def test_the_line_worth_watching_is_the_one_that_opened_most() -> None:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure)
    for key in ("1", "2", "Q"):
        hands.press(key)
    hands.dropped = {"1": 2, "2": 1}
    hands.look()
    assert procedure.likely_line() == "R1"


def test_progress_of_a_line_counts_the_keys_that_answered() -> None:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure)
    hands.look()
    hands.press("1")
    assert procedure.line_progress("R1") == (1, 6)
    assert procedure.line_progress("C2") == (0, 7)


def test_presses_outside_the_walk_name_nothing_but_count_as_seen() -> None:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure)
    hands.look()
    procedure.watch("R1")
    assert hands.press("9").marks == ()
    assert not [mark for mark in hands.press("1").marks if mark.do is Deed.PRESS]
    procedure.go(Stage.WALK)
    assert procedure.walk.asked == "2"
    hands.look(4)
    returned_us = hands.at_us - 200_000
    press = procedure.command(Command.NOTHING).marks[0]
    assert press.at_us >= returned_us


def test_with_a_practice_operator_the_stages_follow_its_marks_and_make_none() -> None:
    procedure = Procedure(LAYOUT, vouches=False)
    hands = Hands(procedure)
    hands.look()
    for key in ("4", "K", "K"):
        procedure.hear(Mark(hands.at_us, Deed.HOLD, key=key))
        hands.hold(key)
        assert hands.look().marks == ()
    assert procedure.flex is not None
    assert (procedure.flex.line, procedure.flex.hold) == ("C4", ("4", "K"))
    procedure.hear(Mark(hands.at_us, Deed.FLEX, zone="fold"))
    hands.dropped["4"] = 2
    assert hands.look().marks == ()
    assert procedure.flex.tallies["fold"].openings == 2
    procedure.hear(Mark(hands.at_us, Deed.STILL))
    assert "leaves the film alone" in procedure.prompt().text
    procedure.hear(Mark(hands.at_us, Deed.RELEASE, key="4"))
    procedure.hear(Mark(hands.at_us, Deed.PRESS, key="1"))
    assert procedure.stage is Stage.WALK
    assert procedure.asked_keys() == ("1",)


def test_the_end_of_the_walk_names_what_is_left() -> None:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure)
    hands.stuck = {"P"}
    hands.look()
    for key in procedure.walk.those(KeyNote.TODO)[:-1]:
        hands.press(key)
    procedure.command(Command.SKIP)
    assert procedure.walk.done
    assert procedure.prompt().text == "The walk is over: 40 of 42 keys answered; closed by itself: P; not tried: SPACE."
