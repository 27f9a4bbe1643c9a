"""Zones against the control, and when enough has been seen."""

from __future__ import annotations

import math
from random import Random

import pytest
from scipy.stats import binom, chi2, gamma, poisson

from tailwise.observe.poisson import most_unseen
from tailwise.observe.rates import Enough, more_often
from tailwise.observe.zonerates import ALPHA, FEWEST, QUIET, Seen, compare, enough, moving_zone

CONTROL = Seen(0, 45.0)


@pytest.mark.parametrize(("episodes", "seconds"), [(3, 8.0), (4, 11.5), (5, 14.0), (6, 17.0)])
def test_a_quiet_control_of_45_s_lets_a_few_episodes_suffice(episodes: int, seconds: float) -> None:
    assert enough(CONTROL, Seen(episodes, seconds), 7) is Enough.MOVES


def test_two_episodes_are_never_enough() -> None:
    assert enough(CONTROL, Seen(2, 0.1), 1) is Enough.GO_ON


def test_a_line_that_drops_out_at_rest_too_does_not_move() -> None:
    assert enough(Seen(20, 45.0), Seen(5, 10.0), 7) is Enough.GO_ON
    assert moving_zone(Seen(20, 45.0), {"fold": Seen(5, 10.0)}, 7) is None


def test_a_zone_is_quiet_after_twenty_seconds_without_anything() -> None:
    assert enough(CONTROL, Seen(0, QUIET.quiet_after_s - 0.1), 7) is Enough.GO_ON
    assert enough(CONTROL, Seen(0, QUIET.quiet_after_s + 0.1), 7) is Enough.QUIET
    assert 18 < QUIET.quiet_after_s < 22


@pytest.mark.parametrize("rate", [0.005, 0.02, 0.05, 0.1, 0.3, 1.0, 3.0])
@pytest.mark.parametrize("zones", [1, 7])
def test_stopping_at_the_first_look_that_says_so_keeps_alpha(rate: float, zones: int) -> None:
    """The chance to say 'moves' at some look of one zone, when nothing moves it: summed over the control's counts.

    The k-th episode says so if it comes before the last time at which k episodes suffice (bisection); its time is Gamma(k).
    """
    chance = 0.0
    mean = rate * CONTROL.seconds
    for before in range(int(poisson.ppf(1 - 1e-6, mean)) + 1):
        control = Seen(before, CONTROL.seconds)
        union = sum(float(gamma.cdf(rate * latest(control, count, zones), count)) for count in range(FEWEST, FEWEST + 12))
        chance += float(poisson.pmf(before, mean)) * min(1.0, union)
    assert chance <= ALPHA / zones * 1.001


def latest(control: Seen, count: int, zones: int) -> float:
    low, high = 0.0, 1e4
    for _ in range(40):
        middle = (low + high) / 2
        says = enough(control, Seen(count, middle), zones) is Enough.MOVES
        low, high = (middle, high) if says else (low, middle)
    return low


def test_p_values_are_binomial_tails_corrected_for_every_zone_of_the_layout() -> None:
    zones = {"fold": Seen(4, 10.0), "left": Seen(1, 10.0)}
    found = compare(CONTROL, zones, 7)
    exact = float(binom.sf(3, 4, 10 / 55))
    assert found["fold"].p_value == pytest.approx(exact) == pytest.approx(more_often(4, 10.0, 0, 45.0))
    assert found["fold"].corrected == pytest.approx(7 * exact)
    moving = moving_zone(CONTROL, zones, 7)
    assert moving is not None and moving.zone == "fold"


def test_intervals_are_garwoods_and_nothing_seen_is_a_bound() -> None:
    low, high = Seen(4, 10.0).limits
    assert low == pytest.approx(float(chi2.ppf(0.025, 8)) / 20)
    assert high == pytest.approx(float(chi2.ppf(0.975, 10)) / 20)
    assert Seen(0, 60.0).bound == pytest.approx(3 / 60, rel=0.002)
    assert most_unseen(0.0) == math.inf


def test_other_zones_that_stayed_quiet_count_as_control_too() -> None:
    four = Seen(4, 20.0)
    quiet = {zone: Seen(0, 20.0) for zone in ("socket", "tail", "neck")}
    assert moving_zone(CONTROL, {"fold": four}, 7) is None
    found = moving_zone(CONTROL, {"fold": four, **quiet}, 7)
    assert found is not None and found.zone == "fold"
    exact = float(binom.sf(3, 4, 20 / 125))
    assert found.elsewhere == Seen(0, 105.0)
    assert found.elsewhere_corrected == pytest.approx(7 * exact)


def test_two_zones_that_move_it_are_told_by_the_control() -> None:
    found = moving_zone(CONTROL, {"fold": Seen(9, 10.0), "tail": Seen(8, 10.0)}, 7)
    assert found is not None and found.zone == "fold"


@pytest.mark.parametrize("rate", [0.02, 0.1, 0.5, 2.0])
def test_asking_in_both_ways_keeps_alpha(rate: float) -> None:
    """No zone moves it: 7 zones of 10 s, 45 s of control, 4000 runs of one rate; at most alpha of them name a zone."""
    draws = Random(11)
    named = 0
    for _ in range(4000):
        counts = [poisson_draw(draws, rate * 10.0) for _ in range(7)]
        zones = {str(place): Seen(count, 10.0) for place, count in enumerate(counts)}
        named += moving_zone(Seen(poisson_draw(draws, rate * 45.0), 45.0), zones, 7) is not None
    assert named <= float(binom.ppf(0.999, 4000, ALPHA))


def poisson_draw(draws: Random, mean: float) -> int:
    count, left = -1, mean
    while left >= 0:
        left -= draws.expovariate(1.0)
        count += 1
    return count
