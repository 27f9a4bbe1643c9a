"""When an intermittent fault shows.

Theory. Episodes come as a Poisson process whose rate depends on what is done to the film: one rate while the fault's
zone is flexed, another at all other times; each lasts a time drawn evenly from its range. Episodes that would
overlap are joined, since one break is open once.
"""

from __future__ import annotations

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
            length = 1000 * random.uniform(*episodes.open_ms)
            if not found or at > found[-1].end_us:
                found.append(Span(round(at), round(at + length)))
    return found
