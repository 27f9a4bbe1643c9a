"""Exact limits on a rate: how much k episodes in so many seconds prove.

Theory. A count k over time follows Poisson with some mean. Its upper limit at confidence c is the mean at which k or fewer
have the chance (1 - c) / 2, its lower one where k or more have it (Garwood 1936). Nothing seen gives 0 to 3.69 at 95 %, and
one-sided 3.00 (rule of three, Hanley and Lippman-Hand, JAMA 1983). By bisection on sums of k terms, each from logarithms of
factorials; errors stay below 1e-9 of the result.
"""

from __future__ import annotations

import math
from collections.abc import Callable

CONFIDENCE = 0.95
_HALVINGS = 200


def poisson_limits(count: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Two-sided exact limits (Garwood) on the mean of a Poisson count."""
    tail = (1 - confidence) / 2
    high = falling(lambda mean: _poisson_at_most(count, mean), tail, 0.0, _beyond(count))
    if count == 0:
        return 0.0, high
    return falling(lambda mean: _poisson_at_most(count - 1, mean), 1 - tail, 0.0, _beyond(count)), high


def _beyond(count: int) -> float:
    """A mean far above any limit of interest."""
    return 2.0 * count + 20 * math.sqrt(count + 1) + 50


def most_unseen(seconds: float, confidence: float = CONFIDENCE) -> float:
    """One-sided upper limit on a rate per second when nothing was seen for so long: rule of three; infinite without time."""
    return -math.log(1 - confidence) / seconds if seconds > 0 else math.inf


def falling(chance: Callable[[float], float], target: float, low: float, high: float) -> float:
    """Where a falling function takes a value."""
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if chance(middle) > target:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _poisson_at_most(count: int, mean: float) -> float:
    log_mean = math.log(mean)
    return math.fsum(math.exp(i * log_mean - mean - math.lgamma(i + 1)) for i in range(count + 1))
