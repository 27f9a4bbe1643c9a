"""When an intermittent fault shows.

Theory. Episodes come as a Poisson process whose rate depends on what is done to the film: one rate while the fault's
zone is flexed, another at all other times. Openings come in clusters, so one episode may be a burst of them. An episode
that would begin inside another is left out, since one break is open once.
"""

from __future__ import annotations

import math
from itertools import pairwise
from random import Random

from tailwise.practice.operator import Performance, Span
from tailwise.practice.planted import Episodes


def come_and_go(episodes: Episodes, performance: Performance, random: Random) -> list[Span]:
    """Spans of run time in which the fault is there, in order, none touching the next."""
    found: list[Span] = []
    start = round(episodes.start_s * 1e6)
    flexed = [span for span in performance.flexed if episodes.zone is None or span.name == episodes.zone]
    edges = sorted({start, performance.end_us, *(at for span in flexed for at in (span.start_us, span.end_us))})
    for begin, end in pairwise(edges):
        if begin < start:
            continue
        bent = any(span.start_us <= begin < span.end_us for span in flexed)
        rate = episodes.per_s_flexed if bent else episodes.per_s_still
        at = float(begin)
        while rate > 0:
            at += random.expovariate(rate) * 1e6
            if at >= end:
                break
            if not found or at > found[-1].end_us:
                found += _burst(episodes, round(at), random)
    return found


def _burst(episodes: Episodes, at_us: int, random: Random) -> list[Span]:
    """The openings of one episode."""
    burst: list[Span] = []
    for _ in range(random.randint(*episodes.openings)):
        end = at_us + max(1, _drawn(episodes.open_ms, random))
        burst.append(Span(at_us, end))
        at_us = end + max(1, _drawn(episodes.gap_ms, random))
    return burst


def _drawn(range_ms: tuple[float, float], random: Random) -> int:
    """Microseconds drawn evenly on a logarithmic scale from a range in milliseconds."""
    low, high = (math.log(max(ms, 0.001)) for ms in range_ms)
    return round(1000 * math.exp(random.uniform(low, high)))
