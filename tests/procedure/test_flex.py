from __future__ import annotations

from tailwise.model.mark import Deed
from tailwise.observe.rates import Enough
from tailwise.procedure.flex import ALONE, FlexWatch
from tailwise.procedure.order import along_route
from tailwise.procedure.outcome import Command, Sound
from tailwise.procedure.procedure import APART, WHOLE, Procedure, Stage
from tailwise.procedure.strip import CELL_US, Strip, Trace
from tests.procedure.sights import LAYOUT, Hands


def watching(line: str) -> tuple[Procedure, Hands, FlexWatch]:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure)
    hands.look()
    procedure.watch(line)
    assert procedure.flex is not None
    assert procedure.stage is Stage.FLEX
    return procedure, hands, procedure.flex


def test_the_last_keys_along_a_route_are_the_farthest() -> None:
    assert along_route(LAYOUT, "R1")[-2:] == ("2", "1")


def test_branches_of_a_route_count_by_length() -> None:
    far = along_route(LAYOUT, "C1")
    assert far[0] == "R"
    assert far.index("S") < far.index("1")


def test_left_alone_comes_first_then_the_zones_and_every_step_is_a_mark() -> None:
    procedure, hands, flex = watching("R1")
    hands.hold("1")
    assert [(mark.do, mark.key) for mark in hands.look().marks] == [(Deed.HOLD, "1")]
    steps = []
    while not flex.done:
        for mark in procedure.command(Command.NEXT).marks:
            steps.append((mark.do, mark.zone))
        hands.look(10)
    zones = [zone.name for zone in LAYOUT.zones]
    assert steps == [(Deed.STILL, None), *[(Deed.FLEX, zone) for zone in zones], (Deed.STILL, None), (Deed.RELEASE, None)]


def test_openings_are_counted_in_the_step_they_fell_into_as_episodes() -> None:
    procedure, hands, flex = watching("R1")
    hands.hold("1")
    hands.look()
    procedure.command(Command.NEXT)
    hands.look(20)
    procedure.command(Command.NEXT)
    zone = flex.step
    assert zone == LAYOUT.zones[0].name
    hands.dropped["1"] = 3
    outcome = hands.look()
    assert Sound.DROP in outcome.sounds
    hands.dropped["1"] = 4
    hands.look()
    hands.look(10)
    hands.dropped["1"] = 5
    hands.look()
    assert flex.tallies[ALONE].openings == 0
    assert flex.tallies[ALONE].watched_us == 1_000_000
    assert (flex.tallies[zone].openings, flex.tallies[zone].episodes) == (5, 2)
    assert {opening.step for opening in flex.log} == {zone}


def test_openings_from_before_the_watch_do_not_count() -> None:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure)
    hands.dropped["1"] = 9
    hands.hold("1")
    hands.look()
    procedure.watch("R1")
    procedure.command(Command.NEXT)
    hands.look(5)
    assert procedure.flex is not None
    assert procedure.flex.tallies[ALONE].openings == 0


def test_time_without_a_held_key_is_not_watched_and_is_said_so() -> None:
    procedure, hands, flex = watching("R1")
    procedure.command(Command.NEXT)
    hands.look(40)
    assert flex.let_go
    assert "not watched" in procedure.prompt().text
    assert flex.tallies[ALONE].watched_us == 0
    assert set(flex.strip.newest(8)) == {Trace.UNWATCHED}


def test_a_lost_link_is_shown_as_blind_and_never_as_an_opening() -> None:
    procedure, hands, flex = watching("R1")
    hands.hold("1")
    hands.look()
    procedure.command(Command.NEXT)
    hands.look(5)
    hands.linked, hands.down = False, set()
    assert Sound.DROP not in hands.look(5).sounds
    assert flex.tallies[ALONE].openings == 0
    assert flex.strip.newest(1) == (Trace.LOST,)


def test_reseating_is_marked_with_the_tail_of_the_line_and_asks_for_the_keys_again() -> None:
    procedure, hands, _ = watching("C2")
    hands.hold("L")
    hands.look()
    procedure.command(Command.NEXT)
    (mark,) = procedure.command(Command.RESEAT).marks
    assert (mark.do, mark.tail) == (Deed.RESEAT, "J2")
    assert "Hold down" in procedure.prompt().text


def test_an_opening_fills_its_cell_and_the_newest_is_last() -> None:
    strip = Strip()
    strip.add(0, Trace.WHOLE)
    strip.add(CELL_US, Trace.DROP)
    strip.add(CELL_US + 1, Trace.WHOLE)
    strip.add(3 * CELL_US, Trace.WHOLE)
    assert strip.newest(5) == (Trace.UNWATCHED, Trace.WHOLE, Trace.DROP, Trace.UNWATCHED, Trace.WHOLE)
    assert strip.newest(0) == ()


def test_a_long_opening_of_a_held_key_counts_but_letting_go_does_not() -> None:
    procedure, hands, flex = watching("R1")
    hands.hold("1")
    hands.look()
    procedure.command(Command.NEXT)
    hands.look(5)
    hands.down = set()
    hands.look(6)
    assert flex.strip.newest(1) == (Trace.OPEN,)
    hands.hold("1")
    hands.look()
    assert flex.tallies[ALONE].openings == 1
    hands.down = set()
    hands.look(40)
    hands.hold("1")
    hands.look()
    assert flex.tallies[ALONE].openings == 1


def test_a_key_that_stays_down_is_held_even_where_others_were_asked_for() -> None:
    procedure, hands, flex = watching("R1")
    hands.hold("6")
    assert [mark.do for mark in hands.look(5).marks if mark.do is Deed.HOLD] == []
    assert [(mark.do, mark.key) for mark in hands.look(10).marks] == [(Deed.HOLD, "6")]
    procedure.command(Command.NEXT)
    hands.down = set()
    hands.look(4)
    hands.hold("6")
    hands.look()
    assert flex.tallies[ALONE].openings == 1


def stepped(procedure: Procedure, hands: Hands, drops: dict[str, int], looks: int, *, joint: bool = False) -> None:
    """Look for a while; openings of each key fall every second, at one instant where they are joint."""
    for look in range(looks):
        if look % 20 == 19:
            hands.together += joint
            for key, count in drops.items():
                hands.dropped[key] = hands.dropped.get(key, 0) + count
        hands.look()


def test_a_zone_that_moves_says_enough_and_a_quiet_one_a_bound() -> None:
    procedure, hands, flex = watching("R1")
    hands.hold("1")
    hands.look()
    procedure.command(Command.NEXT)
    stepped(procedure, hands, {}, 45 * 20)
    assert "long enough" in procedure.prompt().text
    procedure.command(Command.NEXT)
    stepped(procedure, hands, {}, 21 * 20)
    assert "at most 0.14 a second" in procedure.prompt().text
    procedure.command(Command.NEXT)
    stepped(procedure, hands, {"1": 4}, 100)
    assert flex.enough is Enough.MOVES and "it moves here" in procedure.prompt().text


def test_a_line_with_two_witnesses_moves_only_where_both_open_at_once() -> None:
    procedure, hands, flex = watching("C4")
    for key in flex.hold:
        hands.hold(key)
    hands.look()
    procedure.command(Command.NEXT)
    assert len(flex.pairs) == 2 and procedure.wanted_pairs == flex.pairs
    stepped(procedure, hands, {}, 45 * 20)
    procedure.command(Command.NEXT)
    stepped(procedure, hands, {flex.hold[0]: 2}, 120)
    assert "it moves here" not in procedure.prompt().text
    assert procedure.suspect_key == flex.hold[0]
    procedure.command(Command.NEXT)
    stepped(procedure, hands, dict.fromkeys(flex.hold, 1), 120, joint=True)
    assert flex.enough is Enough.MOVES
    assert "at one instant 6 times" in procedure.prompt().more


def test_the_whole_keyboard_is_watched_only_while_every_key_of_the_set_is_down() -> None:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure)
    hands.look()
    procedure.watch_chosen(WHOLE)
    flex = procedure.flex
    assert flex is not None and flex.whole and len(flex.hold) == 7 and procedure.wanted_pairs == ()
    for key in flex.hold[:-1]:
        hands.hold(key)
    hands.look()
    procedure.command(Command.NEXT)
    hands.look(40)
    assert (flex.tallies[ALONE].watched_us, flex.tallies[ALONE].blind_us) == (0, 2_000_000)
    hands.hold(flex.hold[-1])
    hands.look(40)
    assert flex.tallies[ALONE].watched_us == 2_000_000


def test_row_and_column_of_a_key_are_watched_apart_and_sensed() -> None:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure)
    hands.look()
    procedure.watch_chosen(APART + "A")
    flex = procedure.flex
    assert flex is not None and flex.split is not None
    assert "R4 and C4 apart" in procedure.prompt().text
    procedure.command(Command.NEXT)
    assert [sensed for sensed, _ in procedure.wanted_pairs] == ["R4", "C4"]
    procedure.go(Stage.WALK)
    assert procedure.wanted_pairs == ()


def test_a_reseated_tail_goes_back_to_the_matrix_until_the_next_step() -> None:
    procedure, hands, flex = watching("C4")
    hands.hold(flex.hold[0])
    hands.look()
    procedure.command(Command.NEXT)
    assert [sensed for sensed, _ in procedure.wanted_pairs] == ["C4"]
    procedure.command(Command.RESEAT)
    assert procedure.wanted_pairs == ()


def test_a_key_held_nearer_to_the_tail_than_the_one_asked_for_is_said_to_reach_less_far() -> None:
    procedure, hands, flex = watching("R1")
    assert "farthest along the route" in procedure.prompt().text
    near = along_route(LAYOUT, "R1")[0]
    hands.hold(near)
    hands.look(5)
    assert flex.held_short == (near,)
    assert "beyond that nothing is watched" in procedure.prompt().more
    hands.hold(flex.hold[0])
    hands.look(5)
    assert not flex.held_short
    assert "beyond that" not in procedure.prompt().more
