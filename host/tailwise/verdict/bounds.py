"""Exact bounds on rates: how much a number of trials proves.

Theory. k misses in n presses with miss rate p have the binomial chance sum_{i<=k} C(n,i) p^i (1-p)^(n-i) of being k or
fewer. The exact upper limit at confidence c is the p at which that chance is 1-c, the lower one where 'k or more' has
chance 1-c (Clopper and Pearson 1934). Without a miss the upper limit is 1-(1-c)^(1/n), about 3/n at 95 % (rule of three,
Hanley and Lippman-Hand, JAMA 1983). Counts over time follow Poisson, with the limits of `observe.poisson`. All by bisection
on sums of k terms, each from logarithms of factorials; errors stay below 1e-9 of the result.
"""

from __future__ import annotations

import math

from tailwise.observe.poisson import CONFIDENCE, falling, poisson_limits

__all__ = ["CONFIDENCE", "binomial_limits", "miss_bound", "no_miss_bound", "poisson_limits"]


def no_miss_bound(trials: int, confidence: float = CONFIDENCE) -> float:
    """One-sided upper limit on the miss rate after this many trials without a miss; 1.0 without trials."""
    return miss_bound(0, trials, confidence)


def miss_bound(misses: int, trials: int, confidence: float = CONFIDENCE) -> float:
    """One-sided exact upper limit on the miss rate; 1.0 without trials."""
    if trials <= 0 or misses >= trials:
        return 1.0
    if misses == 0:
        return -math.expm1(math.log1p(-confidence) / trials)
    return falling(lambda rate: _binomial_at_most(misses, trials, rate), 1 - confidence, 0.0, 1.0)


def binomial_limits(hits: int, trials: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Two-sided exact limits (Clopper-Pearson) on a rate."""
    each_side = 1 - (1 - confidence) / 2
    if trials <= 0:
        return 0.0, 1.0
    return 1 - miss_bound(trials - hits, trials, each_side), miss_bound(hits, trials, each_side)


def _binomial_at_most(hits: int, trials: int, rate: float) -> float:
    log_rate, log_rest = math.log(rate), math.log1p(-rate)
    whole = math.lgamma(trials + 1)
    return math.fsum(
        math.exp(whole - math.lgamma(i + 1) - math.lgamma(trials - i + 1) + i * log_rate + (trials - i) * log_rest)
        for i in range(hits + 1)
    )
