"""Run time from a clock that wraps."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tailwise.observe.clock import RunClock

WRAP = 1 << 32


@given(st.integers(0, WRAP - 1), st.lists(st.integers(0, 2**31 - 1), max_size=20))
def test_any_steps_below_half_a_wrap_add_up(start: int, steps: list[int]) -> None:
    clock = RunClock()
    clock.start(start)
    total = 0
    for step in steps:
        total += step
        assert clock.advance((start + total) % WRAP) == total
    assert clock.now_us == total


def test_a_clock_before_the_newest_is_known_but_moves_nothing() -> None:
    clock = RunClock()
    clock.start(WRAP - 10)
    clock.advance(1000)
    assert clock.advance(990) == 1000
    assert clock.now_us == 1010


def test_a_later_start_goes_on_and_adds_the_time_away() -> None:
    clock = RunClock()
    clock.start(5)
    clock.advance(1_000_005)
    assert clock.start(77, away_us=300_000) == 1_300_000
    assert clock.at(78) == 1_300_001
