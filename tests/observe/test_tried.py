"""What the statement that every key was pressed vouches for, with frames lost and with pairs watched meanwhile."""

from __future__ import annotations

from tailwise.layoutfile.library import find_layout
from tailwise.model.observation import Blind, Observations, WatchSpan
from tailwise.observe import tried
from tailwise.observe.tried import could_hide_a_press, silent_keys, untried_keys
from tailwise.words.judge import BLIND_FRAMES, BLIND_WATCH

DEMO = find_layout("demo-7x6")
SECOND = 1_000_000
KEYS = len(tried.testable_keys(Observations(DEMO)))


def seen(*blind: Blind, end_s: float, watches: tuple[WatchSpan, ...] = ()) -> Observations:
    return Observations(DEMO, blind=blind, every_key_pressed=True, end_us=round(end_s * SECOND), watches=watches)


def watch(start_s: float, end_s: float) -> WatchSpan:
    start, end = round(start_s * SECOND), round(end_s * SECOND)
    return WatchSpan("R1", "C1", start, end, (), 0, 0, (), 0, 1000, True)


def test_a_key_never_seen_is_silent_and_not_untried() -> None:
    run = seen(end_s=30)
    assert (len(silent_keys(run)), untried_keys(run)) == (KEYS, ())


def test_lost_frames_that_hide_a_press_vouch_for_nothing() -> None:
    run = seen(Blind(10 * SECOND, 10 * SECOND + 50_000, BLIND_FRAMES), end_s=30)
    assert silent_keys(run) == ()
    assert not could_hide_a_press(seen(Blind(10 * SECOND, 10 * SECOND + 49_000, BLIND_FRAMES), end_s=30))
    assert not could_hide_a_press(seen(Blind(0, 2 * SECOND, BLIND_FRAMES), end_s=30))


def test_a_watch_hides_no_press_that_was_made_before_or_after_it() -> None:
    run = seen(Blind(12 * SECOND, 60 * SECOND, BLIND_WATCH), end_s=60, watches=(watch(12.01, 59.99),))
    assert len(silent_keys(run)) == KEYS


def test_a_run_that_ends_in_a_watch() -> None:
    assert not could_hide_a_press(seen(end_s=60, watches=(watch(12, 60), watch(12, 60))))
    assert could_hide_a_press(seen(end_s=60, watches=(watch(3, 60),)))


def test_where_next_to_nothing_but_a_watch_was_run_nobody_can_have_pressed_every_key() -> None:
    short_s = 2 + KEYS * 0.05 - 0.1
    run = seen(Blind(round(short_s * SECOND), 60 * SECOND, BLIND_WATCH), end_s=60)
    assert silent_keys(run) == () and len(untried_keys(run)) == KEYS


def test_frames_lost_beside_a_watch_still_count() -> None:
    run = seen(Blind(12 * SECOND, 40 * SECOND, BLIND_WATCH), Blind(50 * SECOND, 50 * SECOND + 80_000, BLIND_FRAMES), end_s=60)
    assert could_hide_a_press(run)
