"""What was tested, told honestly: keys tried and not, presses, and the bound on misses.

Keys that no line reaches are not counted. Keys on one crosspoint cannot be told apart and are counted by the crosspoint's
presses. The bound is the largest over keys of the exact one-sided limit at 95 %: a key seen n times without a silent
attempt has 1-0.05^(1/n) (one press 0.95), silent attempts count as misses, an untried or silent key has 1.0.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from tailwise.model.observation import AttemptResult, Observations
from tailwise.observe.tried import presses_by_key, untried_keys
from tailwise.verdict.bounds import miss_bound


@dataclass(frozen=True, slots=True)
class CoverageFacts:
    """keys: testable keys; tried: those not in `untried`; presses: certain presses of all keys; least_presses: of the
    tried key pressed least; miss_bound_95: 0..1.
    """

    keys: int
    tried: int
    untried: tuple[str, ...]
    presses: int
    least_presses: int
    miss_bound_95: float


def coverage_of(observations: Observations) -> CoverageFacts:
    """Coverage of one run."""
    presses = presses_by_key(observations)
    untried = untried_keys(observations)
    misses = Counter(attempt.key for attempt in observations.attempts if attempt.result is AttemptResult.SILENT)
    bounds = [miss_bound(misses[key], count + misses[key]) for key, count in presses.items()]
    tried = [count for key, count in presses.items() if key not in untried]
    return CoverageFacts(
        keys=len(presses),
        tried=len(tried),
        untried=untried,
        presses=sum(presses.values()),
        least_presses=min(tried, default=0),
        miss_bound_95=max(bounds, default=1.0),
    )
