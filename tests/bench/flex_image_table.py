"""Openings of a watched pair one by one: which were caught, and how far their lengths are out."""

from __future__ import annotations

import random
from bisect import bisect_right
from dataclasses import dataclass, field
from itertools import pairwise

from tests.bench.common import Bar, at_most
from tests.bench.flex_image_board import Opening, bursts, singles, watch, watching

SURE_US = 5.0
"""No opening of this length or longer may be missed."""
NEAR_US = 10.0
"""Half of the least time between two openings of a burst."""
EDGES_US = (1, 2, 3, 4, 5, 6, 8, 10, 20, 50, 100, 200, 500, 1000, 2001)


UNKNOWABLE_US = 1.2
"""What a line of 150 pF takes longer to rise than a pin and its lead of 20 pF: 0.9 * 10 kohm * 130 pF. The board cannot know
what the tail left, and takes the line for whole."""


def allowed_us(length: float, *, tail: bool = False) -> float:
    """How far a length may be out."""
    return 2.0 + length / 100 + (UNKNOWABLE_US if tail else 0.0)


@dataclass
class Class:
    """Openings of one kind: each with what was told of it, and those told that never were."""

    name: str
    pairs: list[tuple[Opening, Opening | None]]
    invented: int
    link_use: float
    tail: bool
    missed: int = field(init=False)
    sure: int = field(init=False)
    far: int = field(init=False)
    timed: int = field(init=False)

    def __post_init__(self) -> None:
        sure = [(true, told) for true, told in self.pairs if true.length >= SURE_US]
        timed = [(true, told.length - true.length) for true, told in sure if told is not None]
        self.sure, self.timed = len(sure), len(timed)
        self.missed = self.sure - self.timed
        self.far = sum(abs(error) > allowed_us(true.length, tail=self.tail) for true, error in timed)


def matched(planted: list[Opening], told: list[Opening]) -> tuple[list[tuple[Opening, Opening | None]], int]:
    """Each planted opening with what was told of it, by its beginning; and how many were told beside them."""
    found: dict[int, Opening] = {}
    starts = [each.at for each in planted]
    invented = 0
    for one in told:
        after = bisect_right(starts, one.at)
        near = [place for place in (after - 1, after) if 0 <= place < len(starts) and abs(starts[place] - one.at) < NEAR_US]
        if len(near) == 1 and near[0] not in found:
            found[near[0]] = one
        else:
            invented += 1
    return [(each, found.get(place)) for place, each in enumerate(planted)], invented


def tried(rng: random.Random, count: int, name: str, *, burst: bool = False, tail: bool = False, two: bool = False) -> Class:
    """One class on a board of its own; two: another pair, on the board's other port, is watched too."""
    with watching(two=two) as talk:
        begin = talk.board.now_us() + 50_000 + rng.random()
        planted = bursts(rng, count, begin) if burst else singles(rng, count, begin)
        told = watch(talk, planted, tail=tail)
    pairs, invented = matched(planted, told.openings)
    return Class(name, pairs, invented, told.link_use, tail)


def rows(one: Class) -> list[str]:
    """A table for people."""
    table = [
        f"{one.name}, link {one.link_use:.0%} full",
        "  length us    planted  caught  missed  length error us, least mean most",
    ]
    for low, high in pairwise(EDGES_US):
        here = [(true, told) for true, told in one.pairs if low <= true.length < high]
        errors = [told.length - true.length for true, told in here if told is not None]
        spread = f"{min(errors):+6.2f} {sum(errors) / len(errors):+6.2f} {max(errors):+6.2f}" if errors else "     -"
        table.append(f"  {low:4d}-{high:<4d}    {len(here):7d} {len(errors):7d} {len(here) - len(errors):7d}  {spread}")
    return table


def table(rng: random.Random, count: int) -> tuple[list[Bar], list[str]]:
    """Singles and bursts of an opening contact, singles beside another watched pair, and singles of an opening tail."""
    classes = [
        tried(rng, count, "singles"),
        tried(rng, count, "bursts of 50", burst=True),
        tried(rng, count, "singles, two pairs watched", two=True),
        tried(rng, count, "tail, 20 pF left to charge", tail=True),
    ]
    bars: list[Bar] = []
    for one in classes:
        allowed = "3.2 us + 1 %" if one.tail else "2 us + 1 %"
        bars += [
            at_most(f"{one.name}: missed of 5 us and more", one.missed, one.sure, 0.0),
            at_most(f"{one.name}: more than {allowed} out", one.far, one.timed, 0.0),
        ]
    bars.append(Bar("openings told that never were", float(sum(one.invented for one in classes)), 0.0, "<="))
    return bars, [line for one in classes for line in rows(one)]
