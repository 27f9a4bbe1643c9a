"""Counts while the link is full: openings faster than the link can list them, and faster than the board can take.

Truth: every opening planted is long enough to be seen. Up to what the board can take, counts must be right to the last one;
beyond it says that it was blind, and for how long: then no more may be missing than the blind time explains.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from tests.bench.common import Bar
from tests.bench.flex_image_board import Opening, Told, watch, watching

FASTER_THAN_LINK_US = (230.0, 290.0)
"""From one opening of a pair to its next: 3800 a second of each, half as many again as the link could list of both."""
LEAST_TO_FILL = 500
STORMS_US = (200.0, 100.0, 60.0, 40.0, 24.0)
"""The same for storms of one pair or two: 10 000 to 83 000 edges a second of each."""
STORM_OPENINGS = 2000
OPEN_US = (20.0, 40.0)
PAUSE_LEAST_US = 1500.0
"""The board works through more than 200 edges before it looks again."""
LOST_A_PAUSE = 2
"""Openings of a pair at both ends of a pause, seen in part."""


def train(
    rng: random.Random, pair: int, count: int, begin: float, every_us: tuple[float, float], open_us: tuple[float, float]
) -> list[Opening]:
    """Openings of one pair, one after the other without rest."""
    planted, at = [], begin
    for _ in range(count):
        planted.append(Opening(pair, at, rng.uniform(*open_us)))
        at += rng.uniform(*every_us)
    return planted


@dataclass(frozen=True, slots=True)
class Tally:
    """Of one pair: openings planted and counted, and their length together, microseconds."""

    planted: int
    counted: int
    planted_us: float
    counted_us: int

    @property
    def each_us(self) -> float:
        """How far the length of one is out, on average."""
        return abs(self.counted_us - self.planted_us) / max(1, self.planted)


def tallies(planted: list[Opening], told: Told, marks: tuple[int, int]) -> list[Tally]:
    """Both pairs; `marks`: length told of the openings that tie the clocks together."""
    total = told.total
    counted = ((total.openings_first, total.open_first), (total.openings_second, total.open_second))
    found = []
    for pair, (openings, open_us) in enumerate(counted):
        mine = [each.length for each in planted if each.pair == pair]
        found.append(Tally(len(mine), openings - bool(marks[pair]), sum(mine), open_us - marks[pair]))
    return found


def saturated(rng: random.Random, count: int) -> tuple[list[Bar], list[str]]:
    """Two pairs at once, faster than the link; enough of them to fill it."""
    count = max(count, LEAST_TO_FILL)
    with watching(two=True) as talk:
        begin = talk.board.now_us() + 60_000 + rng.random()
        planted = [each for pair in (0, 1) for each in train(rng, pair, count, begin + 33 * pair, FASTER_THAN_LINK_US, OPEN_US)]
        told = watch(talk, planted)
    pairs = tallies(planted, told, (told.mark_us, 0))
    wrong = sum(abs(each.counted - each.planted) for each in pairs)
    listed = len(told.openings) + 1
    unaccounted = abs(sum(each.counted for each in pairs) + 1 - listed - told.total.dropped)
    span_s = (planted[-1].at - planted[0].at) / 1e6
    rate = len(planted) / span_s
    bars = [
        Bar("openings counted wrong on a full link", float(wrong), 0.0, "<=", f"{len(planted)} planted"),
        Bar("open time wrong on a full link, us an opening", max(each.each_us for each in pairs), 2.0, "<="),
        Bar("openings neither listed nor counted as dropped", float(unaccounted), 0.0, "<="),
        Bar("openings dropped from the list", float(told.total.dropped), 1.0, ">=", "else the link was not full"),
    ]
    lines = [
        f"two pairs, {rate:.0f} openings a second for {span_s:.1f} s, link {told.link_use:.0%} full:",
        f"  counted {[each.counted for each in pairs]} of {[each.planted for each in pairs]}, listed {listed}, "
        f"dropped {told.total.dropped}, blind {told.total.blind} us",
    ]
    return bars, lines


def storm(rng: random.Random, every_us: float, *, two: bool) -> tuple[float, str]:
    """Openings missing beyond what the blind time explains, and a line for people."""
    pairs = 1 + two
    with watching(two=two) as talk:
        begin = talk.board.now_us() + 60_000 + rng.random()
        half = every_us / 2
        planted = [
            each
            for pair in range(pairs)
            for each in train(rng, pair, STORM_OPENINGS, begin + 7 * pair, (every_us, every_us), (half - 1, half + 1))
        ]
        told = watch(talk, planted)
    counted = sum(each.counted for each in tallies(planted, told, (told.mark_us, 0)))
    missing, blind = len(planted) - counted, told.total.blind
    pauses = blind / PAUSE_LEAST_US
    explained = pairs * (blind / every_us + LOST_A_PAUSE * pauses)
    unseen_ms, whole_ms = missing * every_us / pairs / 1000, every_us * STORM_OPENINGS / 1000
    line = (
        f"  {pairs} pair(s) {2e6 / every_us * pairs:7.0f} edges a second: counted {counted:4d} of {len(planted)}, "
        f"told blind {blind / 1000:5.1f} ms, missing {unseen_ms:5.1f} ms of {whole_ms:.0f}"
    )
    return max(0.0, missing - explained), line


def counts(rng: random.Random, count: int) -> tuple[list[Bar], list[str]]:
    """Both."""
    bars, lines = saturated(rng, count)
    lines.append("faster than the board can take:")
    beyond = 0.0
    for two in (False, True):
        for every_us in STORMS_US:
            missing, line = storm(rng, every_us, two=two)
            beyond += missing
            lines.append(line)
    bars.append(Bar("openings missing beyond what blind time explains", beyond, 0.0, "<="))
    return bars, lines
