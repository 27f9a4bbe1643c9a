"""Human times, bounce, and faults that come and go."""

from __future__ import annotations

from itertools import pairwise
from random import Random
from statistics import mean, stdev

from tailwise.layoutfile.library import find_layout
from tailwise.practice.contacts import ContactHealth, contact_changes
from tailwise.practice.episodes import come_and_go
from tailwise.practice.operator import Finger, Flex, Habits, Hold, Operator, Press, Reseat, Still
from tailwise.practice.planted import Episodes
from tailwise.practice.slots import OPEN, Contact
from tailwise.practice.times import MAKE_LONGEST_US, SOUND_CHATTER, Chatter

DEMO = find_layout("demo-7x6")


def test_presses_last_as_published() -> None:
    """Dhakal and others, CHI 2018: 116.25 ms, sd 23.88; 238.66 ms between presses."""
    done = Operator(DEMO, Random(1)).perform((Press(rounds=30),))
    lengths = [(finger.up_us - finger.down_us) / 1000 for finger in done.fingers]
    assert abs(mean(lengths) - 116.25) < 3 and abs(stdev(lengths) - 23.88) < 3
    starts = [finger.down_us / 1000 for finger in done.fingers]
    assert abs(mean(b - a for a, b in pairwise(starts)) - 238.66) < 40
    assert min(starts) >= 2000


def test_bounce_stays_within_the_published_bounds() -> None:
    """J. Ganssle 2004: mean 1557 us, longest 6200 us."""
    random = Random(2)
    made = [SOUND_CHATTER.make(random) for _ in range(3000)]
    assert all(len(offsets) % 2 == 0 and offsets == sorted(set(offsets)) for offsets in made)
    assert max(offsets[-1] for offsets in made if offsets) <= MAKE_LONGEST_US
    worn = Chatter(28_000, 36_000, 28_000, 36_000, worn=True)
    assert min(worn.make(random)[-1] for _ in range(100)) >= 27_000


def test_a_contact_ends_as_the_finger_leaves_it() -> None:
    fingers = [Finger("Q", 1_000_000, 1_120_000), Finger("W", 2_000_000, 5_000_000)]
    health = {"W": ContactHealth(ohm=500.0, drops_per_s=5.0)}
    changes = contact_changes(fingers, health, Random(3))
    last = {change.slot: change.ohm for change in sorted(changes, key=lambda each: each.at_us)}
    assert last == {Contact("Q"): OPEN, Contact("W"): OPEN}
    assert {change.ohm for change in changes if change.slot == Contact("W")} == {500.0, OPEN}
    assert sum(change.ohm == OPEN for change in changes if 2_100_000 < change.at_us < 4_900_000) >= 5


def test_dead_and_unwilling_contacts() -> None:
    fingers = [Finger("Q", at * 1_000_000, at * 1_000_000 + 100_000) for at in range(400)]
    assert contact_changes(fingers, {"Q": ContactHealth(dead=True)}, Random(4)) == []
    some = contact_changes(fingers, {"Q": ContactHealth(miss=0.5)}, Random(4))
    assert 140 < len({change.at_us // 1_000_000 for change in some}) < 260


def test_hands_miss_double_and_slip_as_often_as_they_are_told() -> None:
    script = (Press(rounds=50),)
    presses = 42 * 50
    assert len(Operator(DEMO, Random(5)).perform(script).fingers) == presses
    missed = len(Operator(DEMO, Random(5), Habits(miss=0.1)).perform(script).fingers)
    assert 0.86 * presses < missed < 0.94 * presses
    doubled = len(Operator(DEMO, Random(5), Habits(double=0.1)).perform(script).fingers)
    assert 1.06 * presses < doubled < 1.14 * presses


def test_episodes_come_with_the_zone_and_never_overlap() -> None:
    script = (Hold(("A",)), Flex("fold", 60), Flex("tail", 60), Still(60))
    done = Operator(DEMO, Random(6)).perform(script)
    spans = come_and_go(Episodes("fold", per_s_flexed=2.0, per_s_still=0.05), done, Random(7))
    flexed = next(span for span in done.flexed if span.name == "fold")
    inside = [span for span in spans if flexed.start_us <= span.start_us < flexed.end_us]
    assert len(inside) > 60 and len(spans) - len(inside) < 20
    assert all(one.end_us < other.start_us for one, other in pairwise(spans))


def test_an_episode_may_be_a_burst_of_openings() -> None:
    done = Operator(DEMO, Random(9)).perform((Flex("fold", 120),))
    episodes = Episodes("fold", 0.5, 0.0, open_ms=(0.02, 200.0), openings=(1, 50), gap_ms=(0.2, 20.0))
    spans = come_and_go(episodes, done, Random(10))
    gaps = [other.start_us - one.end_us for one, other in pairwise(spans)]
    assert min(gaps) > 0
    bursts = 1 + sum(gap > 100_000 for gap in gaps)
    assert 20 < bursts < 75 and len(spans) > 10 * bursts
    assert 20 <= min(span.end_us - span.start_us for span in spans) < 100


def test_a_finger_that_holds_a_key_slides_off_now_and_then() -> None:
    done = Operator(DEMO, Random(11), Habits(lifts_per_s=0.5)).perform((Hold(("A",)), Still(60)))
    pieces = done.fingers
    assert 15 < len(pieces) < 50
    assert all(20_000 <= other.down_us - one.up_us <= 300_000 for one, other in pairwise(pieces))


def test_reseating_takes_every_line_of_a_tail_out() -> None:
    done = Operator(DEMO, Random(8)).perform((Reseat("J2"), Reseat(None)))
    assert [span.name for span in done.pulled] == ["J2", "J1", "J2"]
    assert all(span.end_us > span.start_us for span in done.pulled)
