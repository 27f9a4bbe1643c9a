"""Dropouts as episodes, and how long every set of keys could have shown one.

Idea: openings come in clusters, so openings less than 100 ms apart are one episode (common practice; without it every
Poisson limit lies). A fault can only show while one of its keys is held: that time, split by what was done to the film
(`still` or the flexed zone), is its exposure. While single pairs are watched without pause, only their keys can show one, as
long as the pair reads closed. Times in microseconds, exposures in seconds.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from tailwise.diagnose.components import Components
from tailwise.model.mark import Deed
from tailwise.model.observation import Dropout, Observations
from tailwise.observe.holding import held_at

JOIN_US = 100_000
FINGER_US = 20_000
"""no finger that presses twice is back sooner (common practice)"""
STILL = ""


@dataclass(frozen=True, slots=True)
class Episode:
    """Openings that belong together. lost: keys lost at least once; kept: keys that stayed closed through all of it.

    whole: partner lines of the lost keys that were read joined meanwhile, so that no fault of theirs lost the keys.
    """

    dropouts: tuple[Dropout, ...]
    lost: int
    kept: int
    zone: str
    whole: frozenset[str] = frozenset()

    @property
    def start_us(self) -> int:
        """Start of the first opening."""
        return self.dropouts[0].start_us

    @property
    def longest_us(self) -> int:
        """Its longest opening."""
        return max(each.end_us - each.start_us for each in self.dropouts)

    @property
    def together(self) -> int:
        """The most keys lost at one instant."""
        return max(len(each.lost) for each in self.dropouts)


@dataclass(frozen=True)
class Exposure:
    """Who was held when, and what was done to the film meanwhile."""

    observations: Observations
    parts: Components

    @cached_property
    def zones(self) -> tuple[tuple[int, int, str], ...]:
        """(from, to, zone) of the whole run; STILL where nothing is flexed."""
        result: list[tuple[int, int, str]] = []
        at, zone = 0, STILL
        for mark in self.observations.marks:
            if mark.do in (Deed.FLEX, Deed.STILL, Deed.RESEAT):
                result.append((at, mark.at_us, zone))
                at, zone = mark.at_us, (mark.zone or STILL) if mark.do is Deed.FLEX else STILL
        result.append((at, max(self._end, at), zone))
        return tuple(span for span in result if span[1] > span[0])

    @cached_property
    def _end(self) -> int:
        ends = [press.end_us or press.start_us for press in self.observations.presses]
        return max([self.observations.end_us, *ends])

    @cached_property
    def _spans(self) -> dict[int, list[tuple[int, int]]]:
        """Bit of a key -> its presses."""
        spans: dict[int, list[tuple[int, int]]] = {}
        for press in self.observations.presses:
            bit = self.parts.bit.get(press.key, 0)
            end = self._end if press.end_us is None else press.end_us
            if bit and press.certain:
                spans.setdefault(bit, []).extend(_outside(press.start_us, max(end, press.start_us), self._watched))
        for watch in self.observations.watches:
            for key in self.observations.layout.keys_at.get(frozenset((watch.sensed, watch.driven)), ()):
                spans.setdefault(self.parts.bit.get(key, 0), []).extend(watch.closed)
        spans.pop(0, None)
        return spans

    @cached_property
    def _watched(self) -> list[tuple[int, int]]:
        """Stretches in which the matrix was not read because single pairs were watched."""
        return _union((watch.start_us, watch.end_us) for watch in self.observations.watches)

    def zone_at(self, at_us: int) -> str:
        """What was flexed at a time."""
        return next((zone for start, end, zone in self.zones if start <= at_us < end), STILL)

    def press_s(self, keys: int, at_us: int) -> float:
        """Seconds of the longest press of some keys around a time, or of the watch through them; 0 where there is none."""
        spans = [span for bit, held in self._spans.items() if bit & keys for span in held if span[0] <= at_us <= span[1]]
        for watch in self.observations.watches:
            if watch.start_us <= at_us <= watch.end_us:
                through = self.observations.layout.keys_at.get(frozenset((watch.sensed, watch.driven)), ())
                spans += [(watch.start_us, watch.end_us)] if self.parts.mask(through) & keys else []
        return max((end - start for start, end in spans), default=0) / 1e6

    def seconds(self, keys: int) -> dict[str, float]:
        """Zone -> seconds in which at least one of some keys was held."""
        if keys not in self._seconds:
            self._seconds[keys] = self._held_s(keys)
        return self._seconds[keys]

    @cached_property
    def _seconds(self) -> dict[int, dict[str, float]]:
        """What was worked out before."""
        return {}

    def _held_s(self, keys: int) -> dict[str, float]:
        held = _union(span for bit, spans in self._spans.items() if bit & keys for span in spans)
        result: dict[str, float] = {}
        for start, end, zone in self.zones:
            inside = sum(max(0, min(end, stop) - max(start, begin)) for begin, stop in held)
            if inside:
                result[zone] = result.get(zone, 0.0) + inside / 1e6
        return result


def find_episodes(observations: Observations, parts: Components, exposure: Exposure) -> tuple[Episode, ...]:
    """The run's dropouts joined into episodes; those that share no key with the running one start their own."""
    groups: list[list[Dropout]] = []
    single = [one_of_twins(each, observations, parts) for each in observations.dropouts]
    for dropout in sorted(single, key=lambda each: (each.start_us, each.end_us, each.lost)):
        if not parts.mask(dropout.lost):
            continue
        last = groups[-1] if groups else None
        if last is not None and dropout.start_us - max(each.end_us for each in last) < JOIN_US:
            last.append(dropout)
        else:
            groups.append([dropout])
    return tuple(_episode(group, parts, exposure) for group in groups)


def one_of_twins(dropout: Dropout, observations: Observations, parts: Components) -> Dropout:
    """The dropout with keys that read alike as one key: the one that was pressed then, as far as marks say."""
    if not any(key in parts.twins for key in dropout.lost):
        return dropout
    pressed = {each.key for each in observations.attempts if each.start_us <= dropout.start_us < each.end_us}
    pressed |= held_at(observations.marks, dropout.start_us)
    return replace(dropout, lost=parts.without_twins(dropout.lost, pressed))


def _episode(group: list[Dropout], parts: Components, exposure: Exposure) -> Episode:
    lost = kept = 0
    for dropout in group:
        lost |= parts.mask(dropout.lost)
        kept |= parts.mask(dropout.kept)
    whole = frozenset[str]().union(*(_partners(each, parts) for each in group if each.bridged))
    return Episode(tuple(group), lost, kept & ~lost, exposure.zone_at(group[0].start_us), whole)


def _partners(dropout: Dropout, parts: Components) -> frozenset[str]:
    """Through each line that two or more lost keys share, the lines it joins by them; keys of other lines join nothing."""
    crossings: dict[str, set[str]] = {}
    for key in dropout.lost:
        if key in parts.bit:
            for one, two in parts.layout.key_by_id[key].crosspoints:
                crossings.setdefault(one, set()).add(two)
                crossings.setdefault(two, set()).add(one)
    return frozenset(line for joined in crossings.values() if len(joined) > 1 for line in joined)


def _outside(start: int, end: int, stretches: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """What is left of a span without some stretches, which are in order and apart."""
    left = []
    for begin, stop in stretches:
        if begin >= end or stop <= start:
            continue
        if begin > start:
            left.append((start, begin))
        start = stop
    return [*left, (start, end)] if start < end or not stretches else left


def _union(spans: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    merged: list[tuple[int, int]] = []
    for start, end in sorted(spans):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        else:
            merged.append((start, end))
    return merged
