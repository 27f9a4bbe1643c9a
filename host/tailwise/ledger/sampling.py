"""Acceptance of a lot by attributes.

Theory. From a lot of N keyboards, n are tested; the lot is accepted when at most c of them are faulty. With D faulty
in the lot the number found is hypergeometric; for a lot much larger than the sample it is binomial with p = D/N. The
chance of acceptance over p is the plan's operating characteristic. Published check values: the single sampling plan
n = 68, c = 2 accepts with probability 0.95 at p = 1.213 % and 0.05 at 8.970 % (binomial).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import comb


class PlanError(ValueError):
    """A sampling plan that makes no sense."""


@dataclass(frozen=True, slots=True)
class Plan:
    """A single sampling plan: test `sample` keyboards, accept with at most `allowed` faulty ones."""

    sample: int
    allowed: int

    def __post_init__(self) -> None:
        if not 0 < self.sample <= 10_000:
            raise PlanError(f"a sample has 1 to 10000 keyboards, not {self.sample}")
        if not 0 <= self.allowed < self.sample:
            raise PlanError(f"allowed faulty ones run from 0 to {self.sample - 1}, not {self.allowed}")


@dataclass(frozen=True, slots=True)
class LotDecision:
    """accepted None: not enough tested to tell; sure: no further test can change it."""

    tested: int
    faulty: int
    accepted: bool | None
    missing: int


def acceptance_probability(plan: Plan, share_faulty: float) -> float:
    """Chance 0..1 that a large lot with this share of faulty keyboards (0..1) is accepted: binomial."""
    if not 0.0 <= share_faulty <= 1.0:
        raise ValueError(f"a share runs from 0 to 1, not {share_faulty}")
    good = 1.0 - share_faulty
    return sum(comb(plan.sample, k) * share_faulty**k * good ** (plan.sample - k) for k in range(plan.allowed + 1))


def acceptance_probability_in_lot(plan: Plan, lot: int, faulty: int) -> float:
    """Chance 0..1 that a lot of `lot` keyboards with `faulty` faulty ones is accepted: hypergeometric."""
    if lot < plan.sample:
        raise ValueError(f"a lot of {lot} is smaller than the sample of {plan.sample}")
    if not 0 <= faulty <= lot:
        raise ValueError(f"faulty ones run from 0 to {lot}, not {faulty}")
    ways = sum(comb(faulty, k) * comb(lot - faulty, plan.sample - k) for k in range(min(plan.allowed, faulty) + 1))
    return ways / comb(lot, plan.sample)


def share_at(plan: Plan, probability: float) -> float:
    """The share of faulty keyboards (0..1) at which a large lot is accepted with this probability, by bisection."""
    if not 0.0 < probability < 1.0:
        raise ValueError(f"a probability between 0 and 1, not {probability}")
    low, high = 0.0, 1.0
    for _ in range(100):
        middle = (low + high) / 2
        if acceptance_probability(plan, middle) > probability:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def decide(plan: Plan, tested: int, faulty: int) -> LotDecision:
    """The lot's fate; decided early where the rest of the sample cannot change it."""
    missing = max(0, plan.sample - tested)
    if faulty > plan.allowed:
        return LotDecision(tested, faulty, False, missing)
    if faulty + missing <= plan.allowed:
        return LotDecision(tested, faulty, True, missing)
    return LotDecision(tested, faulty, None, missing)
