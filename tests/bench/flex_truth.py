"""The truth of the flex benchmark: what cracks, contacts and fingers do in time. Nothing of the engine is used to make it.

A crack opens only while its zone is moved: 0.5 episodes a second, each of 1 to 50 openings of 20 us to 200 ms. A finger that
holds a key wobbles (an opening of 0.1 to 15 ms) once a minute, twice as often while the hands move, and slides off once in
two minutes for 50 to 500 ms, with bounce on both sides. A clip does neither. Times are microseconds.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field

SECOND = 1_000_000
EPISODES_PER_S = 0.5
MOST_OPENINGS = 50
OPEN_US = (20.0, 200_000.0)
GAP_US = (200.0, 50_000.0)
WOBBLE_PER_S = 1 / 60
WOBBLE_US = (100.0, 15_000.0)
SLIP_PER_S = 1 / 120
SLIP_US = (50_000.0, 500_000.0)

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Flexing:
    """What is done to the film from start to end; no zone: left alone."""

    start_us: int
    end_us: int
    zone: str | None


@dataclass
class Fault:
    """What is wrong: a line or a contact that opens while a zone is moved; nothing."""

    line: str | None = None
    key: str | None = None
    zone: str | None = None
    opens: list[Span] = field(default_factory=list)


def drawn(rng: random.Random, low_high: tuple[float, float]) -> int:
    """Evenly on a logarithmic scale."""
    low, high = (math.log(each) for each in low_high)
    return round(math.exp(rng.uniform(low, high)))


def arrivals(rng: random.Random, per_s: float, span: Flexing) -> list[int]:
    """Times of a Poisson process."""
    found: list[int] = []
    at = float(span.start_us)
    while per_s > 0:
        at += rng.expovariate(per_s) * SECOND
        if at >= span.end_us:
            break
        found.append(round(at))
    return found


def crack(rng: random.Random, span: Flexing) -> list[Span]:
    """Openings of a crack whose zone is moved in this span, none overlapping."""
    found: list[Span] = []
    for at in arrivals(rng, EPISODES_PER_S, span):
        if found and at <= found[-1][1] + 1000:
            continue
        for _ in range(rng.randint(1, MOST_OPENINGS)):
            end = at + drawn(rng, OPEN_US)
            found.append((at, end))
            at = end + drawn(rng, GAP_US)
    return found


def finger(rng: random.Random, spans: list[Flexing]) -> list[Span]:
    """Openings that a finger makes by itself while it holds a key."""
    found: list[Span] = []
    for span in spans:
        hands = 2.0 if span.zone is not None else 1.0
        found += [(at, at + drawn(rng, WOBBLE_US)) for at in arrivals(rng, WOBBLE_PER_S * hands, span)]
        for at in arrivals(rng, SLIP_PER_S * hands, span):
            found += slip(rng, at)
    return apart(found)


def slip(rng: random.Random, at_us: int) -> list[Span]:
    """A finger slides off and comes back: break bounce, the time off the key, make bounce."""
    found: list[Span] = []
    for _ in range(rng.randint(0, 4)):
        found.append((at_us, at_us + drawn(rng, (50.0, 800.0))))
        at_us = found[-1][1] + drawn(rng, (50.0, 1500.0))
    off = (at_us, at_us + drawn(rng, SLIP_US))
    found.append(off)
    at_us = off[1] + drawn(rng, (50.0, 1500.0))
    for _ in range(rng.randint(0, 4)):
        found.append((at_us, at_us + drawn(rng, (50.0, 800.0))))
        at_us = found[-1][1] + drawn(rng, (50.0, 1500.0))
    return found


def apart(spans: list[Span]) -> list[Span]:
    """Spans in order, those that touch taken as one."""
    merged: list[Span] = []
    for start, end in sorted(spans):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        else:
            merged.append((start, end))
    return merged
