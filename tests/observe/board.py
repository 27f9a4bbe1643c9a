"""An ideal board for tests: contacts, joins and broken lines over time in, the bytes of protocol 1 out.

Every line is driven in turn, each at its own moment of the scan, so readings of one key in two directions are taken at
two times, as on a real board. Apart from the engine: it knows currents (who reaches whom), not keys.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.recording.format import Header, Marked, Received, Record, Sent
from tailwise.wire.frames import encode
from tailwise.wire.messages import (
    Ack,
    Booted,
    Command,
    Heartbeat,
    Hello,
    Identity,
    LineCheck,
    LineStatus,
    Message,
    RunState,
    SetLines,
    SetScan,
    Start,
    State,
    Stop,
    Transitions,
)
from tailwise.wire.payload import Transition

MS = 1_000
SECOND = 1_000_000
EPOCH = (1 << 32) - 3 * SECOND
"""The board's clock at the start: it wraps three seconds into every run."""


@dataclass(order=True)
class Happening:
    """At this time an edge appears (delta 1) or disappears (delta -1); an edge leads current from node to node."""

    at_us: int
    edge: tuple[str, str] = field(compare=False)
    delta: int = field(compare=False)


@dataclass
class Board:
    """Contacts over time and how they are scanned."""

    layout: Layout
    scan_us: int = 260
    state_us: int = 20 * MS
    board_lines: int = 24
    gather_us: int = 2 * MS
    one_delta: bool = False
    speak_host: bool = True
    both_ways: bool = True
    roles: dict[str, int] = field(default_factory=dict)
    statuses: dict[str, LineStatus] = field(default_factory=dict)
    happenings: list[Happening] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)

    def __post_init__(self) -> None:
        ways = {diode.line: diode.conducts for diode in self.layout.diodes}
        self.cathodes = {diode.key: diode.conducts for diode in self.layout.diodes if diode.key}
        for line in self.layout.lines:
            way = ways.get(line)
            if way != "from_tail":
                self._edge(0, (f"film {line}", line), 1)
            if way != "to_tail":
                self._edge(0, (line, f"film {line}"), 1)

    def _edge(self, at_us: int, edge: tuple[str, str], delta: int) -> None:
        self.happenings.append(Happening(at_us, edge, delta))

    def _both(self, at_us: int, one: str, other: str, delta: int) -> None:
        self._edge(at_us, (one, other), delta)
        self._edge(at_us, (other, one), delta)

    def contact(self, key: str, at_us: int, closed: bool) -> None:
        """The contact of a key opens or closes, once."""
        delta = 1 if closed else -1
        for row, column in self.layout.key_by_id[key].crosspoints:
            cathode = self.cathodes.get(key)
            if cathode != "column":
                self._edge(at_us, (f"film {column}", f"film {row}"), delta)
            if cathode != "row":
                self._edge(at_us, (f"film {row}", f"film {column}"), delta)

    def press(self, key: str, at_us: int, length_us: int = 110 * MS, bounces: Iterable[tuple[int, int]] = ()) -> None:
        """A press; bounces are openings (start, end) relative to the first closure."""
        self.contact(key, at_us, True)
        for start, end in bounces:
            self.contact(key, at_us + start, False)
            self.contact(key, at_us + end, True)
        self.contact(key, at_us + length_us, False)

    def asked(self, key: str, at_us: int) -> None:
        """A press mark."""
        self.marks.append(Mark(at_us, Deed.PRESS, key=key))

    def join(self, one: str, other: str, start_us: int, end_us: int | None = None) -> None:
        """Two lines are joined at their tails."""
        self._both(start_us, one, other, 1)
        if end_us is not None:
            self._both(end_us, one, other, -1)

    def lose(self, line: str, start_us: int, end_us: int | None = None) -> None:
        """A line without diode is broken between harness and film."""
        self._both(start_us, line, f"film {line}", -1)
        if end_us is not None:
            self._both(end_us, line, f"film {line}", 1)

    def walk(self, start_us: int = 2200 * MS, each_us: int = 300 * MS, *, marked: bool = True) -> int:
        """Press every key once, one after the other; returns the time after the last."""
        at = start_us
        for key in self.layout.keys:
            if marked:
                self.asked(key.id, at)
            if key.crosspoints:
                self.press(key.id, at + 50 * MS, bounces=[(400, 700), (1500, 1900)])
            at += each_us
        return at

    def _readings(self, until_us: int) -> list[tuple[int, int, int]]:
        """(time, driven line, row) at the first sample of each line after each happening, in order."""
        names = self.layout.harness_order
        edges: dict[tuple[str, str], int] = {}
        times = sorted({each.at_us for each in self.happenings if each.at_us < until_us})
        by_time: dict[int, list[Happening]] = {}
        for each in self.happenings:
            by_time.setdefault(each.at_us, []).append(each)
        found = []
        for at, time in enumerate(times):
            for each in by_time[time]:
                edges[each.edge] = edges.get(each.edge, 0) + each.delta
            following = times[at + 1] if at + 1 < len(times) else until_us
            ways: dict[str, list[str]] = {}
            for (start, end), count in edges.items():
                if count > 0:
                    ways.setdefault(end, []).append(start)
            for driven, line in enumerate(names):
                phase = driven * self.scan_us // len(names)
                sample = time + (phase - time) % self.scan_us
                if sample < following:
                    found.append((sample, driven, self._row(driven, line, ways, names)))
        return sorted(found)

    def _row(self, driven: int, line: str, ways: dict[str, list[str]], names: tuple[str, ...]) -> int:
        reached, ends = {line}, [line]
        while ends:
            for start in ways.get(ends.pop(), ()):
                if start not in reached:
                    reached.add(start)
                    ends.append(start)
        hears = self.both_ways or line in self.layout.rows
        return sum(
            1 << number
            for number, name in enumerate(names)
            if hears and name in reached and number != driven and (self.both_ways or name in self.layout.columns)
        )

    def messages(self, until_us: int) -> list[tuple[int, Message]]:
        """Everything the board sends while scanning, with the run time it was sent."""
        count = len(self.layout.lines)
        width = -(-self.board_lines // 8)
        driven = [n for n, line in enumerate(self.layout.harness_order) if self.both_ways or line in self.layout.rows]
        rows = [0] * count
        readings = self._readings(until_us)
        at = 0
        waiting: list[tuple[int, int, int, bool]] = []
        sent: list[tuple[int, Message]] = []
        beat = 500 * MS
        state_at = self.scan_us

        def flush(now: int) -> None:
            while waiting:
                part, waiting[:] = waiting[:60], waiting[60:]
                start = part[0][0]
                entries = tuple(Transition(0 if self.one_delta else t - start, d, s, closed) for t, d, s, closed in part)
                sent.append((now, Transitions((start + EPOCH) % (1 << 32), entries)))

        while state_at < until_us:
            while at < len(readings) and readings[at][0] < state_at:
                time, line, row = readings[at]
                if state_at > self.scan_us:
                    if waiting and time - waiting[0][0] >= self.gather_us:
                        flush(time)
                    for sensed in range(count):
                        if (row ^ rows[line]) >> sensed & 1:
                            waiting.append((time, line, sensed, bool(row >> sensed & 1)))
                rows[line] = row
                at += 1
            flush(state_at)
            closed = b"".join(rows[line].to_bytes(width, "little") for line in driven)
            sent.append((state_at, State((state_at + EPOCH) % (1 << 32), 0, closed)))
            if state_at >= beat:
                clock = (state_at + EPOCH) % (1 << 32)
                sent.append((state_at, Heartbeat(clock, RunState.SCANNING, 0, 0, 0, state_at // self.scan_us, self.scan_us, 0)))
                beat += 500 * MS
            state_at += -(-self.state_us // self.scan_us) * self.scan_us
        return sent

    def header(self, *, every_key_pressed: bool = False) -> Header:
        """The header a host would write."""
        return Header(self.layout.id, self.layout.text, every_key_pressed=every_key_pressed)

    def opening(self) -> list[tuple[str, Message]]:
        """What is said before the run, 'tx' or 'rx' each."""
        count = len(self.layout.lines)
        both = bytes([3] * count)
        halves = bytes(1 if line in self.layout.rows else 2 for line in self.layout.harness_order)
        roles = SetLines(both if self.both_ways else halves)
        statuses = [LineStatus.NOT_USED] * self.board_lines
        for number, line in enumerate(self.layout.harness_order):
            statuses[number] = self.statuses.get(line, LineStatus.CLEAR)
        talk: list[tuple[str, Message]] = [
            ("rx", Booted(2)),
            ("tx", Hello(1, 1)),
            ("rx", Identity(0, 1, 1, 1, 0, 0, self.board_lines, 1, 1000, 8000, 50000, 128, 254, b"\xff\xff\0", b"", "ideal")),
        ]
        commands: tuple[Command, ...] = (Stop(), roles, SetScan(0, 0))
        for number, command in enumerate(commands, start=1):
            talk += [("tx", command), ("rx", Ack(number, command.TYPE, 0))]
        return [*talk, ("tx", Start(0)), ("rx", LineCheck(EPOCH - 40, bytes(statuses))), ("rx", Ack(4, Start.TYPE, EPOCH))]

    def frames(self, until_us: int) -> list[tuple[str, int, bytes]]:
        """Direction, host time and bytes of every frame, in order; the run starts at host time 100 ms."""
        numbers = {"rx": 0, "tx": 0}
        talk = [(side, 100 * MS, message) for side, message in self.opening()]
        talk += [("rx", 100 * MS + time, message) for time, message in self.messages(until_us)]
        out = []
        for side, time, message in talk:
            if side == "rx" or self.speak_host:
                out.append((side, time, encode(message, numbers[side] % 65536)))
            numbers[side] += 1
        return out

    def records(self, until_us: int) -> list[Record]:
        """The records of a whole run, marks included."""
        return to_records(self.frames(until_us), self.marks)


def to_records(frames: list[tuple[str, int, bytes]], marks: Iterable[Mark] = ()) -> list[Record]:
    """Frames as records, one for each, marks at the end."""
    records: list[Record] = [Received(time, data) if side == "rx" else Sent(time, data) for side, time, data in frames]
    last = frames[-1][1] if frames else 0
    return [*records, *(Marked(last, mark) for mark in marks)]
