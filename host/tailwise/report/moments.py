"""Waves as moments: all wires that change at one time together, in order of time.

A wire is a pair (driven, sensed) that ever read closed, or a key's crosspoint: closed where either direction reads
closed, unknown where neither is known.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from tailwise.model.mark import Mark
from tailwise.model.observation import Pair
from tailwise.report.waves import Edge, Level, Waves

Point = frozenset[str]
Wire = Pair | Point


@dataclass(frozen=True)
class Moment:
    """One time: levels that are new then, and the marks made then."""

    t_us: int
    levels: dict[Wire, Level]
    marks: tuple[Mark, ...]


def points_of(waves: Waves) -> dict[Point, tuple[str, ...]]:
    """Crosspoints with the keys on them, in the layout's order of keys."""
    layout = waves.layout
    return {frozenset(point): layout.keys_at[frozenset(point)] for key in layout.keys for point in key.crosspoints}


def moments(waves: Waves) -> Iterator[Moment]:
    """Every moment at which something changes or a mark was made; all wires are unknown before the first STATE."""
    state = _State(waves)
    shown: dict[Wire, Level] = {}
    for t_us, group in groupby(_happenings(waves), key=lambda each: each[0]):
        marks = []
        for _, _, what in group:
            if isinstance(what, Mark):
                marks.append(what)
            else:
                state.take(what)
        levels = {wire: level for wire, level in state.touched() if shown.get(wire) != level}
        shown.update(levels)
        if levels or marks:
            yield Moment(t_us, levels, tuple(marks))


def _happenings(waves: Waves) -> list[tuple[int, int, bool | Edge | Mark]]:
    """(time, order within it, what): True where readings become known, False where they cease to be, edges, marks."""
    known: list[tuple[int, int, bool | Edge | Mark]] = [(waves.start_us, 0, True)] if waves.seen else []
    known += [(blind.end_us, 0, True) for blind in waves.blind]
    known += [(edge.t_us, 1, edge) for edge in waves.edges]
    known += [(blind.start_us, 2, False) for blind in waves.blind]
    known += [(mark.at_us, 3, mark) for mark in waves.marks]
    return sorted(known, key=lambda each: each[:2])


class _State:
    """The readings, whether they are known, and which wires they touch."""

    def __init__(self, waves: Waves) -> None:
        lines = waves.layout.lines
        self._closed = {(driven, sensed): False for driven in lines for sensed in lines if driven != sensed}
        self._known = False
        self._pairs = set(waves.pairs)
        self._points = points_of(waves)
        self._touched: set[Pair] = set()

    def take(self, what: bool | Edge) -> None:
        if isinstance(what, Edge):
            pair = (what.driven, what.sensed)
            self._closed[pair] = what.closed
            self._touched.add(pair)
        else:
            self._known = what
            self._touched.update(self._closed)

    def touched(self) -> Iterator[tuple[Wire, Level]]:
        """Levels of the wires touched since the last call."""
        for pair in sorted(self._touched):
            if pair in self._pairs:
                yield pair, self._level(pair)
            point = frozenset(pair)
            if point in self._points:
                yield point, self._level(pair, (pair[1], pair[0]))
        self._touched.clear()

    def _level(self, *pairs: Pair) -> Level:
        return any(self._closed[pair] for pair in pairs) if self._known else None
