"""An ideal board that watches two pairs: openings over time in, the bytes of protocol 1 out."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from tailwise.harness.wiring import plain_wiring
from tailwise.model.layout import Layout
from tailwise.model.mark import Mark
from tailwise.model.observation import Observations, Pair
from tailwise.observe.observer import Observer
from tailwise.recording.format import Marked, Received, Record, Sent
from tailwise.wire.frames import encode
from tailwise.wire.messages import (
    Ack,
    Openings,
    ScanMode,
    SetWatch,
    Start,
    State,
    Stop,
    Watched,
    WatchPullUp,
)
from tailwise.wire.payload import Opening

MS = 1_000
SECOND = 1_000_000
EPOCH = (1 << 32) - 3 * SECOND


@dataclass
class WatchBoard:
    """Pairs that are closed from `closes` on (None: never) but for their openings, watched from `start_us` to `end_us`.

    unlisted: openings (pair, start) that are counted and not listed. lost: frames, counted from the first WATCHED, that do not
    arrive.
    """

    layout: Layout
    pairs: tuple[Pair, Pair]
    openings: tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]]
    start_us: int = 3 * SECOND
    end_us: int = 6 * SECOND
    closes: tuple[int | None, int | None] = (0, 0)
    unlisted: Collection[tuple[int, int]] = ()
    lost: Collection[int] = ()
    marks: tuple[Mark, ...] = ()
    board_lines: int = 0
    _number: int = 0
    _frames: list[bytes] = field(default_factory=list)

    def records(self) -> list[Record]:
        """The whole run: two STATEs of an open matrix, the watch, a STATE again."""
        lines = plain_wiring(self.layout).board_line
        count = self.board_lines or len(lines)
        empty = bytes(count * -(-count // 8))
        found: list[Record] = [Sent(0, encode(Start(ScanMode.MATRIX), 1))]
        found += [self._say(Ack(1, Start.TYPE, EPOCH % 2**32)), self._state(10 * MS, empty), self._state(2900 * MS, empty)]
        wired = bytes(lines[line] for pair in self.pairs for line in pair)
        found += [Sent(0, encode(Stop(), 2)), self._say(Ack(2, Stop.TYPE, self._clock(self.start_us - 9 * MS)))]
        found.append(Sent(0, encode(SetWatch(WatchPullUp.SWITCHED, wired), 3)))
        found.append(Sent(0, encode(Start(ScanMode.WATCH), 4)))
        found.append(self._say(Ack(4, Start.TYPE, self._clock(self.start_us))))
        at, place = self.start_us + 10, 0
        told = self.start_us
        while at <= self.end_us:
            messages: list[Openings | Watched] = [*self._lists(told, at), self._watched(at)]
            for message in messages:
                said = self._say(message)
                if place not in self.lost:
                    found.append(said)
                place += 1
            told, at = at, at + 20 * MS
        found += [Sent(0, encode(Stop(), 5)), self._say(Ack(5, Stop.TYPE, self._clock(self.end_us + MS)))]
        found.append(Sent(0, encode(Start(ScanMode.MATRIX), 6)))
        found.append(self._say(Ack(6, Start.TYPE, self._clock(self.end_us + 4 * MS))))
        found.append(self._state(self.end_us + 5 * MS, empty))
        return [*found, *(Marked(0, mark) for mark in self.marks)]

    def observations(self) -> Observations:
        """What they show."""
        observer = Observer(self.layout, plain_wiring(self.layout))
        for record in self.records():
            observer.feed(record)
        return observer.observations()

    def _clock(self, at_us: int) -> int:
        return (EPOCH + at_us) % 2**32

    def _say(self, message: Ack | State | Watched | Openings) -> Received:
        data = encode(message, self._number % 2**16)
        self._number += 1
        return Received(0, data)

    def _state(self, at_us: int, closed: bytes) -> Received:
        return self._say(State(self._clock(at_us), 0, closed))

    def _lists(self, after_us: int, to_us: int) -> list[Openings]:
        entries = [
            Opening(pair, self._clock(start), end - start)
            for pair, openings in enumerate(self.openings)
            for start, end in openings
            if after_us < end <= to_us and (pair, start) not in self.unlisted
        ]
        return [Openings(tuple(entries[at : at + 20])) for at in range(0, len(entries), 20)]

    def _watched(self, at_us: int) -> Watched:
        ended = [[(start, end) for start, end in openings if end <= at_us] for openings in self.openings]
        bits = 0
        for pair, (closes, openings) in enumerate(zip(self.closes, self.openings, strict=True)):
            shut = closes is not None and closes <= at_us
            if shut and not any(start <= at_us < end for start, end in openings):
                bits |= 1 << pair
        dropped = sum(
            any(start == begun and end <= at_us for start, end in self.openings[pair]) for pair, begun in self.unlisted
        )
        (first, first_us), (second, second_us) = ((len(each), sum(end - start for start, end in each)) for each in ended)
        return Watched(self._clock(at_us), bits, first, first_us, second, second_us, 0, dropped, 1000)
