"""Run time from the board's clock, over its wrap and over lost links."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tailwise.live.clock import RunClock

WRAP = 1 << 32


@given(st.integers(0, WRAP - 1), st.lists(st.integers(0, 1_000_000_000), max_size=20))
def test_the_wrap_changes_nothing(first: int, steps: list[int]) -> None:
    clock = RunClock()
    assert clock.start(first, 0, 0) == 0
    total = 0
    for step in steps:
        total += step
        clock.frame((first + total) % WRAP, total)
        assert clock.at(total) == total


def test_between_frames_the_host_s_clock_goes_on() -> None:
    clock = RunClock()
    assert clock.at(5) is None
    clock.start(1000, 100, 0)
    clock.frame(3000, 2200)
    assert clock.at(2700) == 2500
    assert clock.at(2000) == 2000


def test_an_old_frame_never_turns_time_back() -> None:
    clock = RunClock()
    clock.start(1000, 0, 0)
    clock.frame(9000, 8000)
    clock.frame(5000, 8100)
    assert clock.at(8000) == 8000


def test_after_a_lost_link_time_goes_on_from_the_last_good_frame() -> None:
    clock = RunClock()
    clock.start(0, 0, 0)
    clock.frame(5_000_000, 5_000_000)
    clock.down(6_500_000)
    assert clock.at(7_000_000) == 5_500_000
    assert clock.start(123, 9_000_000, 2_500_000) == 7_500_000
    clock.frame(1_000_123, 10_000_000)
    assert clock.at(10_000_000) == 8_500_000
