"""The keyboard as components that can fail, worked out from the layout alone.

Idea: a key reads closed when the route of its row and the route of its column are whole from the tail to its crosspoint
and its own contact closes. So each component has a set of keys that its failure silences: a line's socket and tail all
keys of the line, a stretch of trace the keys beyond it, a contact its own key, a crack across a tail the keys of the
lines it takes. A key with several crosspoints is silenced only where all of them are.

Sets of keys are integers, bit i for key i of the layout, so that thousands of them are compared in milliseconds.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

from tailwise.diagnose.priors import Priors
from tailwise.diagnose.sidebyside import side_by_side
from tailwise.model.layout import Layout


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece of trace between two crosspoints (`origin` None: the tail); `beyond`: the keys lost when it breaks."""

    line: str
    origin: str | None
    key: str
    beyond: int


@dataclass(frozen=True, slots=True)
class Edge:
    """Lines a crack can take, counted from one edge of a tail; two or more."""

    tail: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Components:
    """Everything of a keyboard that can fail."""

    layout: Layout

    @cached_property
    def bit(self) -> dict[str, int]:
        """Key id -> its bit."""
        return {key.id: 1 << index for index, key in enumerate(self.layout.keys)}

    @cached_property
    def on_line(self) -> dict[str, int]:
        """Line -> the keys that a cut of the whole line silences."""
        return {line: self._silenced(frozenset((line,)), self.layout.keys_on[line]) for line in self.layout.lines}

    @cached_property
    def stretches(self) -> dict[str, tuple[Stretch, ...]]:
        """Line -> its stretches in route order; empty where the route is unknown."""
        return {line: self._stretches(line) for line in self.layout.lines}

    @cached_property
    def edges(self) -> tuple[Edge, ...]:
        """Every run of two lines or more from an edge of a tail."""
        runs: dict[tuple[str, tuple[str, ...]], None] = {}
        for tail in self.layout.tails or ():
            lines = tail.lines
            for count in range(2, len(lines) + 1):
                runs[(tail.name, lines[:count])] = None
                runs[(tail.name, lines[len(lines) - count :])] = None
        return tuple(Edge(tail, lines) for tail, lines in runs)

    @cached_property
    def neighbours(self) -> frozenset[frozenset[str]]:
        """Pairs of lines side by side on a tail."""
        return frozenset(
            frozenset((one, two))
            for tail in self.layout.tails or ()
            for one, two in zip(tail.contacts, tail.contacts[1:], strict=False)
            if one is not None and two is not None
        )

    def short_chance(self, pair: frozenset[str], priors: Priors) -> float:
        """How common it is that two lines are joined otherwise than by a key: by their places on the tail and on the sheet."""
        if pair in self.layout.keys_at:
            return priors.short_at_key
        if pair in self.neighbours:
            return priors.short_neighbours
        one, two = sorted(pair)
        return priors.short_far if side_by_side(self.layout, one, two) is None else priors.short_side_by_side

    @cached_property
    def twins(self) -> dict[str, tuple[str, ...]]:
        """Key -> the other keys on exactly its crosspoints, in the layout's order: all of them read alike."""
        sharing: dict[frozenset[frozenset[str]], list[str]] = {}
        for key in self.layout.keys:
            if key.crosspoints:
                sharing.setdefault(frozenset(frozenset(point) for point in key.crosspoints), []).append(key.id)
        return {
            key: tuple(other for other in keys if other != key) for keys in sharing.values() if len(keys) > 1 for key in keys
        }

    def without_twins(self, keys: tuple[str, ...], pressed: Collection[str] = ()) -> tuple[str, ...]:
        """Keys that read alike as one: one of those said to be pressed, else the first of the layout."""
        kept: list[str] = []
        for key in keys:
            group = [each for each in self.bit if each == key or each in self.twins.get(key, ())]
            named = [each for each in group if each in pressed]
            if (one := (named or group or [key])[0]) not in kept:
                kept.append(one)
        return tuple(kept)

    @cached_property
    def line_diodes(self) -> dict[str, str]:
        """Line with a diode -> the way it conducts (to_tail, from_tail)."""
        return {diode.line: diode.conducts for diode in self.layout.diodes if diode.line is not None}

    @cached_property
    def key_diodes(self) -> dict[str, str]:
        """Key with a diode -> the side of its cathode (row, column)."""
        return {diode.key: diode.conducts for diode in self.layout.diodes if diode.key is not None}

    def ids(self, keys: int) -> tuple[str, ...]:
        """The ids of a set of keys, sorted by code point."""
        return tuple(sorted(key for key, bit in self.bit.items() if keys & bit))

    def mask(self, keys: tuple[str, ...]) -> int:
        """The set of some ids; ids the layout does not know are left out."""
        result = 0
        for key in keys:
            result |= self.bit.get(key, 0)
        return result

    def path(self, line: str, key: str) -> tuple[str, ...]:
        """The keys of a route from the tail to a key, that key last; empty where the route does not reach it."""
        origin = {stretch.key: stretch.origin for stretch in self.stretches[line]}
        steps: list[str] = []
        at: str | None = key
        while at is not None and at in origin and at not in steps:
            steps.append(at)
            at = origin[at]
        return tuple(reversed(steps))

    def _silenced(self, lines: frozenset[str], keys: tuple[str, ...]) -> int:
        result = 0
        for name in keys:
            if all(lines & set(point) for point in self.layout.key_by_id[name].crosspoints):
                result |= self.bit[name]
        return result

    def _stretches(self, line: str) -> tuple[Stretch, ...]:
        stops = (self.layout.routes or {}).get(line, ())
        children: dict[str | None, list[str]] = {}
        for stop in stops:
            children.setdefault(stop.origin, []).append(stop.key)

        def beyond(key: str, seen: frozenset[str]) -> tuple[str, ...]:
            if key in seen:
                return ()
            return (key, *(each for child in children.get(key, []) for each in beyond(child, seen | {key})))

        whole = self.on_line[line]
        return tuple(Stretch(line, stop.origin, stop.key, self.mask(beyond(stop.key, frozenset())) & whole) for stop in stops)
