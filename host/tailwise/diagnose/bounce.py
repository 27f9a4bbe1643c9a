"""Contacts that bounce longer than their build allows.

Idea: bounce as ASTM F1661-09 measures it, make and break apart; the longer of the two counts. A sound contact exceeds its limit
rarely, and the less the further (a tenth of a press in e per 10 ms, from memory); a worn one on most presses. Limits:
the layout's own, else 20 ms for film and rubber, 10 ms for switches (makers' figures: domes under 20; measured parts
under 6.2 ms).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from tailwise.diagnose.evidence import Evidence
from tailwise.diagnose.hypotheses import odds
from tailwise.diagnose.priors import Priors
from tailwise.model.fault import Fault, FaultKind
from tailwise.model.layout import KeyboardKind, Layout
from tailwise.model.observation import Press

FALL_US = 10_000.0
WORN_SHARE = 0.8
"""share of the presses of a worn contact that exceed the limit"""


@dataclass(frozen=True, slots=True)
class BounceClaim:
    """A key that bounces, with the presses that show it."""

    fault: Fault
    chance: float
    presses: tuple[Press, ...]
    limit_us: int


def bounce_limit_us(layout: Layout) -> int:
    """The longest bounce a sound contact of this layout shows, microseconds."""
    if layout.limits is not None:
        return round(layout.limits.bounce_ms * 1000)
    return 10_000 if layout.kind is KeyboardKind.SWITCHES else 20_000


def find_bouncing(evidence: Evidence, priors: Priors) -> Iterator[BounceClaim]:
    """Every key whose bounce is more than `accuse_above` not chance."""
    limit = bounce_limit_us(evidence.parts.layout)
    for key, record in evidence.records.items():
        weight = math.log(odds(priors.bouncing_contact))
        long: list[Press] = []
        for press in record.seen:
            bounce = max(press.make_bounce_us, press.break_bounce_us)
            if bounce > limit:
                long.append(press)
                weight += math.log(WORN_SHARE) - math.log(priors.long_bounce) + (bounce - limit) / FALL_US
            else:
                weight += math.log(1.0 - WORN_SHARE)
        chance = 1.0 / (1.0 + math.exp(-min(weight, 500.0)))
        if long and chance >= priors.accuse_above:
            yield BounceClaim(Fault(FaultKind.BOUNCING_CONTACT, (), (key,)), chance, tuple(long), limit)
