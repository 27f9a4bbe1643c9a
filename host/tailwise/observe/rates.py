"""Rates of episodes compared: is a line's trouble tied to where the film is flexed, and when has enough been seen?

Theory. Episodes (openings less than 100 ms apart are one) in a condition are a Poisson count k over t seconds of
watching. With the same rate in two conditions, k1 given k1 + k2 is binomial with share t1 / (t1 + t2): the exact
conditional test of two Poisson means (Przyborowski and Wilenski 1940, from memory). Several zones are compared with
one control, so their p-values are corrected stepwise (Holm 1979, from memory), which keeps the chance of any false
accusation below alpha.

Stopping early: Wald's sequential probability ratio test. For attribute trials with shares p0 < p1 the cumulated count
is compared with two lines of slope s (NIST/SEMATECH e-Handbook 6.2.6); for episodes over time the log likelihood
ratio is k ln(r1/r0) - (r1 - r0) t, accepted at or below ln(beta/(1-alpha)) and rejected at or above
ln((1-beta)/alpha).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum


def more_often(count: int, seconds: float, other_count: int, other_seconds: float) -> float:
    """One-sided p-value (0..1) that the first condition shows so many of all episodes by chance alone."""
    if seconds <= 0 or count <= 0:
        return 1.0
    if other_seconds <= 0:
        return 1.0
    share = seconds / (seconds + other_seconds)
    whole = count + other_count
    return min(1.0, math.fsum(_binomial(hits, whole, share) for hits in range(count, whole + 1)))


def _binomial(hits: int, trials: int, share: float) -> float:
    return math.comb(trials, hits) * share**hits * (1.0 - share) ** (trials - hits)


def fisher_two_sided(a: int, b: int, c: int, d: int) -> float:
    """Fisher's exact test of a 2 x 2 table, two-sided: the chance of all tables no likelier than this one."""
    row, column, whole = a + b, a + c, a + b + c + d
    lowest, highest = max(0, row + column - whole), min(row, column)
    ways = {k: math.comb(column, k) * math.comb(whole - column, row - k) for k in range(lowest, highest + 1)}
    return sum(way for way in ways.values() if way <= ways[a]) / math.comb(whole, row)


def fisher_more(a: int, b: int, c: int, d: int) -> float:
    """Fisher's exact test of a 2 x 2 table, one-sided: the chance of so large a share of the first row, or a larger one."""
    row, column, whole = a + b, a + c, a + b + c + d
    ways = (math.comb(column, k) * math.comb(whole - column, row - k) for k in range(a, min(row, column) + 1))
    return min(1.0, sum(ways) / math.comb(whole, row))


def corrected(p_values: Mapping[str, float]) -> dict[str, float]:
    """Holm's stepwise correction for the number of comparisons; by name, each 0..1."""
    ordered = sorted(p_values.items(), key=lambda item: (item[1], item[0]))
    result: dict[str, float] = {}
    running = 0.0
    for place, (name, p_value) in enumerate(ordered):
        running = max(running, min(1.0, (len(ordered) - place) * p_value))
        result[name] = running
    return result


class Enough(Enum):
    """What a sequential test says."""

    GO_ON = "go on"
    QUIET = "quiet"
    MOVES = "moves"


@dataclass(frozen=True, slots=True)
class EpisodeTest:
    """Sequential test on episodes over time. low, high: rates per second; alpha: chance to say MOVES at the low rate,
    beta: chance to say QUIET at the high rate.
    """

    low: float
    high: float
    alpha: float
    beta: float

    def says(self, count: int, seconds: float) -> Enough:
        """The state after this many episodes in so many seconds."""
        ratio = count * math.log(self.high / self.low) - (self.high - self.low) * seconds
        if ratio >= math.log((1 - self.beta) / self.alpha):
            return Enough.MOVES
        if ratio <= math.log(self.beta / (1 - self.alpha)):
            return Enough.QUIET
        return Enough.GO_ON

    @property
    def quiet_after_s(self) -> float:
        """Seconds without any episode after which it says QUIET."""
        return math.log((1 - self.alpha) / self.beta) / (self.high - self.low)


@dataclass(frozen=True, slots=True)
class TrialTest:
    """Wald's test on attribute trials: good share p0 against bad share p1 (NIST/SEMATECH e-Handbook 6.2.6)."""

    p0: float
    p1: float
    alpha: float
    beta: float

    @property
    def _k(self) -> float:
        return math.log(self.p1 * (1 - self.p0) / (self.p0 * (1 - self.p1)))

    @property
    def slope(self) -> float:
        """Slope s of both lines."""
        return math.log((1 - self.p0) / (1 - self.p1)) / self._k

    @property
    def accept_intercept(self) -> float:
        """h1: the lot is accepted when the count falls to s n - h1."""
        return math.log((1 - self.alpha) / self.beta) / self._k

    @property
    def reject_intercept(self) -> float:
        """h2: the lot is refused when the count reaches s n + h2."""
        return math.log((1 - self.beta) / self.alpha) / self._k

    @property
    def earliest_accept(self) -> int:
        """Fewest trials, without a failure, that accept."""
        return math.ceil(self.accept_intercept / self.slope)

    @property
    def earliest_reject(self) -> int:
        """Fewest trials, all failures, that refuse."""
        return math.ceil(self.reject_intercept / (1 - self.slope))
