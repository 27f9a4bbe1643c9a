"""Records to messages in order, with run time, gaps and restarts. What the bytes say, not yet what it means.

The frames' numbers show what is missing (numbers.py), the board's clock gives run time (clock.py). A gap, a restart
and a lost link make everything doubtful until the next STATE; here they are only announced, in their place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from tailwise.observe.clock import RunClock
from tailwise.observe.numbers import Follows, Numbering
from tailwise.observe.period import ScanPeriod
from tailwise.observe.watchevents import WatchBegan, WatchCounts, WatchedOpening, WatchOpenings
from tailwise.recording.format import Linked, LinkEvent, Received, Record, Sent
from tailwise.wire.frames import Frame, FrameError, FrameSplitter
from tailwise.wire.messages import (
    Ack,
    Booted,
    Heartbeat,
    Identity,
    LineCheck,
    LineRole,
    Openings,
    Refusal,
    Refused,
    RunState,
    ScanMode,
    SetLines,
    SetScan,
    SetWatch,
    Start,
    State,
    Stop,
    Transitions,
    Watched,
    WatchPullUp,
)
from tailwise.wire.payload import PayloadError

FIRST_BOARD_TYPE = 0x80


class Why(Enum):
    """Why what follows cannot be joined to what came before."""

    FRAMES_LOST = "frames lost"
    LINK_LOST = "link lost"
    RESTART = "board restarted"


@dataclass(frozen=True, slots=True)
class Began:
    """Scanning began (again) at this run time; driven: the board lines driven, None where the host did not say."""

    t_us: int
    driven: tuple[int, ...] | None
    sensed: frozenset[int] | None


@dataclass(frozen=True, slots=True)
class Broke:
    """Everything after this is unknown until the next STATE."""

    why: Why


@dataclass(frozen=True, slots=True)
class Scanned:
    """A STATE."""

    t_us: int
    number: int
    dropped: int
    closed: bytes


@dataclass(frozen=True, slots=True)
class Changes:
    """A TRANSITIONS: its entries as (run time, driven, sensed, closed), board lines."""

    number: int
    entries: tuple[tuple[int, int, int, bool], ...]


Event = Began | Broke | Scanned | Changes | WatchBegan | WatchCounts | WatchOpenings


class Stream:
    """Feed records, get events; what is not an event (health, identity, link counts) stands in the attributes."""

    def __init__(self) -> None:
        self._splitter = FrameSplitter()
        self._host = FrameSplitter()
        self.numbering = Numbering()
        self.clock = RunClock()
        self.identity: Identity | None = None
        self.health: Heartbeat | None = None
        self.statuses: bytes = b""
        self.refusals: list[str] = []
        self.overloads = 0
        self.frames = 0
        self.bad = 0
        self.running = False
        self.away = False
        self._roles: bytes | None = None
        self._start_sent = False
        self._check_clock: int | None = None
        self._start_answer: Ack | None = None
        self._stopped = False
        self._lost_at: int | None = None
        self._back_at: int | None = None
        self.period = ScanPeriod()
        self._resyncs_before = 0
        self._last_was_boot = False
        self.watching = False
        self._asked_watch: SetWatch | None = None
        self._asked_mode = int(ScanMode.MATRIX)
        self._stop_heard = False
        self._clock_doubtful = False

    @property
    def resyncs(self) -> int:
        """Runs of bytes that were no frame."""
        return self._resyncs_before + self._splitter.resyncs

    def feed(self, record: Record) -> Iterator[Event]:
        """Events that this record completes, in order."""
        if isinstance(record, Received):
            for item in self._splitter.feed(record.data):
                if isinstance(item, FrameError):
                    self.bad += 1
                elif item.type >= FIRST_BOARD_TYPE:
                    yield from self._frame(item)
        elif isinstance(record, Sent):
            for item in self._host.feed(record.data):
                if isinstance(item, Frame):
                    self._sent(item, record.t_us)
        elif isinstance(record, Linked):
            yield from self._link(record)

    def _sent(self, frame: Frame, t_us: int) -> None:
        try:
            message = frame.message()
        except PayloadError:
            return
        if isinstance(message, SetLines):
            self._roles = message.roles
        elif isinstance(message, SetScan):
            self.period.asked_us = message.period_us
        elif isinstance(message, SetWatch):
            self._asked_watch = message
        elif isinstance(message, Start):
            self._start_sent, self._check_clock = True, None
            self._asked_mode = message.mode
            self._stopped = False
            if self._lost_at is not None and self._back_at is None:
                self._back_at = t_us
        elif isinstance(message, Stop):
            self._start_sent = False
            self._stopped = True

    def _link(self, record: Linked) -> Iterator[Event]:
        if record.event is LinkEvent.REOPENED:
            self._back_at = record.t_us
            self.numbering.reopened()
            return
        self._clock_doubtful = True
        if self._lost_at is None:
            self._lost_at, self._back_at = record.t_us, None
        if record.event is LinkEvent.LOST:
            self._resyncs_before += self._splitter.resyncs
            self._splitter = FrameSplitter()
            yield from self._break(Why.LINK_LOST)
        else:
            yield from self._break(Why.RESTART)

    def _break(self, why: Why) -> Iterator[Event]:
        self.away = self.away or (self.running and not self._stopped)
        if self.running:
            self.running = False
            yield Broke(why)

    def _frame(self, frame: Frame) -> Iterator[Event]:
        booted = frame.type == Booted.TYPE and frame.number == 0
        if booted and not (self.numbering.last == 0 and self._last_was_boot):
            self.numbering.anew(0)
        else:
            follows = self.numbering.take(frame.number)
            if follows is Follows.REPEATED:
                return
            if follows is Follows.GAP and self.running:
                yield Broke(Why.FRAMES_LOST)
        self._last_was_boot = booted
        self.frames += 1
        try:
            message = frame.message()
        except PayloadError:
            self._unreadable()
            if self.running:
                yield Broke(Why.FRAMES_LOST)
            return
        match message:
            case State():
                yield from self._state(message, frame.number)
            case Watched():
                yield from self._counts(message)
            case Openings():
                if self.running and self.watching:
                    listed = (WatchedOpening(one.pair, self.clock.at(one.start), one.length) for one in message.entries)
                    yield WatchOpenings(tuple(listed))
            case Transitions():
                if self.running and not self.watching:
                    start = self.clock.advance(message.clock)
                    self.period.entries(message)
                    entries = tuple((start + one.delta, one.driven, one.sensed, one.closed) for one in message.entries)
                    yield Changes(frame.number, entries)
            case Heartbeat():
                yield from self._beat(message)
            case Ack():
                yield from self._ack(message)
            case Booted():
                self._start_sent = False
                self._clock_doubtful = True
                yield from self._break(Why.RESTART)
            case Refused():
                self._refused(message)
            case LineCheck():
                self.statuses = message.statuses
                self._check_clock = message.clock
            case Identity():
                self.identity = message
            case _:
                pass

    def _unreadable(self) -> None:
        self.frames -= 1
        self.bad += 1
        self.numbering.lost += 1
        self.numbering.gaps += 1

    def _state(self, message: State, number: int) -> Iterator[Event]:
        if not self.running and self._start_sent and self._asked_mode != ScanMode.WATCH:
            yield from self._begin(message.clock if self._check_clock is None else self._check_clock)
        if self.running and not self.watching:
            yield Scanned(self.clock.advance(message.clock), number, message.dropped, message.closed)

    def _counts(self, message: Watched) -> Iterator[Event]:
        if not self.running and self._start_sent:
            self._asked_mode = ScanMode.WATCH
            yield from self._begin(message.clock if self._check_clock is None else self._check_clock)
        if self.running and self.watching:
            yield WatchCounts(
                self.clock.advance(message.clock), message.closed, (message.openings_first, message.openings_second),
                (message.open_first, message.open_second), message.blind, message.dropped, message.shortest_ns,
            )  # fmt: skip

    def _ack(self, message: Ack) -> Iterator[Event]:
        if message.command_type == Start.TYPE:
            if not (self.running and message == self._start_answer):
                self._start_answer = message
                yield from self._begin(message.clock)
        elif message.command_type == Stop.TYPE:
            self._stop_heard = True
            if self.running:
                self.running = False
                yield Broke(Why.RESTART)

    def _begin(self, raw: int) -> Iterator[Event]:
        if self.running:
            yield Broke(Why.RESTART)
        away: int | None = None if self._stop_heard and not self._clock_doubtful else 0
        if self._lost_at is not None and self._back_at is not None:
            away = self._back_at - self._lost_at
        self._lost_at = self._back_at = None
        self._stop_heard = self._clock_doubtful = False
        self.running, self.away, self._start_sent = True, False, False
        self.period.restart()
        self.watching = self._asked_mode == ScanMode.WATCH
        if self.watching:
            asked = self._asked_watch
            pairs = b"" if asked is None else asked.pairs
            switched = asked is not None and asked.pull_up == WatchPullUp.SWITCHED
            yield WatchBegan(self.clock.start(raw, away), tuple(zip(pairs[::2], pairs[1::2], strict=False)), switched)
            return
        driven = sensed = None
        if self._roles is not None:
            driven = tuple(n for n, role in enumerate(self._roles) if role in (LineRole.DRIVEN, LineRole.BOTH))
            sensed = frozenset(n for n, role in enumerate(self._roles) if role in (LineRole.SENSED, LineRole.BOTH))
        yield Began(self.clock.start(raw, away), driven, sensed)

    def _beat(self, message: Heartbeat) -> Iterator[Event]:
        if not self.running:
            return
        if message.state != RunState.SCANNING:
            yield from self._break(Why.RESTART)
            return
        now = self.clock.advance(message.clock)
        self.health = message
        self.overloads = max(self.overloads, message.overloads)
        if not self.watching:
            self.period.beat(now, message)

    def _refused(self, message: Refused) -> None:
        try:
            name = Refusal(message.code).name.lower()
        except ValueError:
            name = f"code_{message.code}"
        if message.command_type == Start.TYPE and message.code != Refusal.RUNNING:
            self._start_sent = False
        self.refusals.append(name)
