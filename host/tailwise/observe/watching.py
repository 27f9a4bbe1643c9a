"""The watch without pause as observations: counts, stretches with a closed loop, openings as dropouts.

Theory. A board that watches tells every opening by start and length, and counts them whole in WATCHED, so a count never
depends on a frame that was lost: what was counted and not listed is kept as a count. A pair reads closed through one key, so:

- An opening of both pairs at one instant (within `SIMULTANEOUS_US`) is one event on what they share; no two contacts, and
  no two fingers, part within 50 us of each other. It counts up to `BENT_US`.
- An opening of one pair alone is a dropout while it is shorter than a release (`RELEASE_US`); from there on it may be a
  finger that slid off, which is no dropout on its own. Openings within `BOUNCE_SPAN_US` of such a release, and of
  the first and last closure, are bounce (ASTM F1661-09 for the terms).
- The other pair stayed closed (`kept`) where it read closed before and after, lists no opening meanwhile, and nothing of it
  was only counted; openings under `SURE_US` say nothing of it: the lines' own rise times differ.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from tailwise.harness.wiring import Wiring
from tailwise.model.layout import Layout
from tailwise.model.observation import Dropout, WatchSpan
from tailwise.observe.stream import Broke, Event
from tailwise.observe.thresholds import BENT_US, BOUNCE_SPAN_US, RELEASE_US
from tailwise.observe.watchevents import WatchBegan, WatchCounts, WatchedOpening, WatchOpenings

SIMULTANEOUS_US = 50
"""Openings of two pairs that begin this close together are one event: rise times differ by a few microseconds."""

SURE_US = 20
"""Openings shorter than this may have been missed on the other pair."""

_RECENT = 40
"""Entries of two full OPENINGS."""


@dataclass
class Watch:
    """One watch, from its START on."""

    start_us: int
    pairs: tuple[tuple[str, str], ...]
    keys: tuple[str | None, ...]
    switched: bool
    counts: list[WatchCounts] = field(default_factory=list)
    openings: tuple[list[WatchedOpening], list[WatchedOpening]] = field(default_factory=lambda: ([], []))
    gap: bool = False
    short: list[int] = field(default_factory=lambda: [0, 0])
    together: int = 0
    newest: deque[tuple[int, WatchedOpening]] = field(default_factory=lambda: deque(maxlen=_RECENT))

    def add(self, one: WatchedOpening) -> None:
        """One more opening; the live picture counts what cannot be a finger that let go."""
        others = [each for pair, each in self.newest if pair != one.pair]
        together = any(abs(each.start_us - one.start_us) <= SIMULTANEOUS_US for each in others)
        self.together += together
        if one.length_us < RELEASE_US or together:
            self.short[one.pair] += 1
        self.openings[one.pair].append(one)
        self.newest.append((one.pair, one))

    @property
    def end_us(self) -> int:
        """The newest time it counts up to."""
        return self.counts[-1].t_us if self.counts else self.start_us

    def closed(self, pair: int) -> tuple[tuple[int, int], ...]:
        """Stretches between WATCHEDs that both show the pair closed, or open for less than a release."""
        short = sorted((one.start_us, one.end_us) for one in self.openings[pair] if one.length_us < RELEASE_US)
        starts = [start for start, _ in short]

        def shut(count: WatchCounts) -> bool:
            before = bisect_right(starts, count.t_us) - 1
            return bool(count.closed >> pair & 1) or (before >= 0 and short[before][1] >= count.t_us)

        found: list[tuple[int, int]] = []
        for before, after in pairwise(self.counts):
            if shut(before) and shut(after):
                start = found.pop()[0] if found and found[-1][1] == before.t_us else before.t_us
                found.append((start, after.t_us))
        return tuple(found)

    def unlisted(self, pair: int) -> tuple[tuple[int, int, int, int], ...]:
        """Openings that were counted and never listed, where the board dropped some or frames were lost."""
        if not self.gap and not (self.counts and self.counts[-1].dropped):
            return ()
        listed = sorted(self.openings[pair], key=lambda one: one.end_us)
        found: list[tuple[int, int, int, int]] = []
        missing = missing_us = at = length = 0
        since = self.start_us
        for count in self.counts:
            while at < len(listed) and listed[at].end_us <= count.t_us:
                length += listed[at].length_us
                at += 1
            more, more_us = count.openings[pair] - at - missing, count.open_us[pair] - length - missing_us
            if more > 0:
                found.append((since, count.t_us, more, max(0, more_us)))
                missing, missing_us = missing + more, missing_us + max(0, more_us)
            since = count.t_us
        return tuple(found)


class WatchLog:
    """Every watch of a run, fed with the stream's events."""

    def __init__(self, layout: Layout, wiring: Wiring) -> None:
        self._layout = layout
        self._wiring = wiring
        self.watches: list[Watch] = []
        self.now: Watch | None = None

    def feed(self, event: Event) -> None:
        """Take an event; those of the matrix end a watch."""
        match event:
            case WatchBegan():
                self._begin(event)
            case WatchCounts():
                if self.now is not None:
                    self.now.counts.append(event)
            case WatchOpenings():
                if self.now is not None:
                    for one in event.entries:
                        if one.pair < len(self.now.pairs):
                            self.now.add(one)
            case Broke():
                if self.now is not None:
                    self.now.gap = True
            case _:
                self.now = None

    def _begin(self, event: WatchBegan) -> None:
        names = self._wiring.line_name
        named = [(names.get(sensed), names.get(driven)) for sensed, driven in event.pairs[:2]]
        pairs = tuple((sensed, driven) for sensed, driven in named if sensed is not None and driven is not None)
        if len(pairs) < len(named):
            pairs = ()
        keys = tuple(self._key_at(pair) for pair in pairs)
        self.now = Watch(event.t_us, pairs, keys, event.switched)
        self.watches.append(self.now)

    def _key_at(self, pair: tuple[str, str]) -> str | None:
        return next(iter(self._layout.keys_at.get(frozenset(pair), ())), None)

    def spans(self) -> tuple[WatchSpan, ...]:
        """Every pair of every watch that counted something."""
        return tuple(span for watch in self.watches if watch.counts for span in _spans(watch))

    def dropouts(self) -> list[Dropout]:
        """The openings that count as dropouts, in order of time."""
        found = [dropout for watch in self.watches if watch.counts for dropout in _dropouts(watch)]
        return sorted(found, key=lambda each: (each.start_us, each.end_us, each.lost))


def _spans(watch: Watch) -> Iterator[WatchSpan]:
    last = watch.counts[-1]
    for pair, (sensed, driven) in enumerate(watch.pairs):
        yield WatchSpan(
            sensed, driven, watch.start_us, watch.end_us, watch.closed(pair), last.openings[pair], last.open_us[pair],
            watch.unlisted(pair), last.blind_us, last.shortest_ns, watch.switched,
        )  # fmt: skip


def _dropouts(watch: Watch) -> Iterator[Dropout]:
    views = [_View(watch, pair) for pair in range(len(watch.pairs))]
    together = _simultaneous(views[0].listed, views[1].listed) if len(views) == 2 else []
    joint = {id(one) for couple in together for one in couple}
    keys = tuple(sorted({key for key in watch.keys if key is not None}))
    for first, second in together:
        start_us, end_us = min(first.start_us, second.start_us), max(first.end_us, second.end_us)
        if keys and end_us - start_us < (BENT_US if len(keys) > 1 else RELEASE_US):
            yield Dropout(start_us, end_us, keys, ())
    for view in views:
        key = watch.keys[view.pair]
        if key is None:
            continue
        alone = [one for one in view.listed if id(one) not in joint]
        releases = [(one.start_us, one.end_us) for one in alone if one.length_us >= RELEASE_US] + view.unclosed()
        other = views[1 - view.pair] if len(views) == 2 else None
        for one in alone:
            if one.length_us < RELEASE_US and not _near(one, releases):
                kept = other is not None and one.length_us >= SURE_US and other.stayed_closed(one.start_us, one.end_us)
                partner = watch.keys[other.pair] if other is not None and kept else None
                yield Dropout(one.start_us, one.end_us, (key,), () if partner is None else (partner,))


def _simultaneous(first: list[WatchedOpening], second: list[WatchedOpening]) -> list[tuple[WatchedOpening, WatchedOpening]]:
    """Openings of the two pairs that began at one instant, each used once."""
    found = []
    at = 0
    for one in first:
        while at < len(second) and second[at].start_us < one.start_us - SIMULTANEOUS_US:
            at += 1
        if at < len(second) and second[at].start_us <= one.start_us + SIMULTANEOUS_US:
            found.append((one, second[at]))
            at += 1
    return found


def _near(one: WatchedOpening, stretches: list[tuple[int, int]]) -> bool:
    return any(one.start_us < end + BOUNCE_SPAN_US and one.end_us > start - BOUNCE_SPAN_US for start, end in stretches)


class _View:
    """One pair of a watch, its openings in order, ready to be asked about moments."""

    def __init__(self, watch: Watch, pair: int) -> None:
        self.pair = pair
        self.listed = sorted(watch.openings[pair], key=lambda one: one.start_us)
        self._watch = watch
        self._starts = [one.start_us for one in self.listed]
        self._closed = watch.closed(pair)
        self._closed_starts = [start for start, _ in self._closed]
        self._unlisted = watch.unlisted(pair)

    def stayed_closed(self, start_us: int, end_us: int) -> bool:
        """Whether the pair surely read closed all through a stretch."""
        at = bisect_right(self._closed_starts, start_us) - 1
        if at < 0 or end_us > self._closed[at][1]:
            return False
        before = bisect_left(self._starts, end_us) - 1
        if before >= 0 and self.listed[before].end_us > start_us:
            return False
        return not any(start < end_us and end > start_us for start, end, _, _ in self._unlisted)

    def unclosed(self) -> list[tuple[int, int]]:
        """Stretches between WATCHEDs that do not both show the pair closed, unless a listed opening explains it."""
        found: list[tuple[int, int]] = []
        before_us, was_closed = self._watch.start_us, False
        for count in self._watch.counts:
            closed = bool(count.closed >> self.pair & 1)
            open_at = [at for at, shut in ((before_us, was_closed), (count.t_us, closed)) if not shut]
            if not all(self._in_opening(at) for at in open_at):
                found.append((before_us, count.t_us))
            before_us, was_closed = count.t_us, closed
        return found

    def _in_opening(self, at_us: int) -> bool:
        before = bisect_right(self._starts, at_us) - 1
        return before >= 0 and self.listed[before].end_us >= at_us
