"""One matrix run of the virtual board: what its scanner saw becomes TRANSITIONS and STATE, in the order of the protocol."""

from __future__ import annotations

from collections.abc import Callable

from tailwise.practice.membrane import Readings
from tailwise.practice.scanner import Sampled, Scanner
from tailwise.wire.messages import MAX_TRANSITIONS, Message, State, Transitions
from tailwise.wire.payload import Transition

STATE_US = 20_000
FLUSH_US = 2_000

Emit = Callable[[int, Message], None]
Clock = Callable[[int], int]
Counts = tuple[int, int, int]
"""Scans since START, longest scan in microseconds, overloaded drive pulses."""


class MatrixRun:
    """From START to STOP. `emit` takes messages with their time, `clock` gives the board's clock at a time."""

    def __init__(self, scanner: Scanner, line_count: int, readings: Callable[[], Readings], emit: Emit, clock: Clock) -> None:
        self._scanner = scanner
        self._row_bytes = -(-line_count // 8)
        self._readings = readings
        self._emit = emit
        self._clock = clock
        self._waiting: list[Sampled] = []
        self._shown = False
        self._state_us = scanner.scan_end_us(1)

    def next_us(self) -> int:
        """When `run_to` has something to do next."""
        times = [self._state_us]
        if self._scanner.due_us is not None:
            times.append(self._scanner.due_us)
        if self._waiting:
            times.append(self._waiting[0].at_us + FLUSH_US)
        return min(times)

    def run_to(self, at_us: int) -> None:
        """Do what is due at this time."""
        self._take(self._scanner.sample(at_us))
        if self._waiting and self._waiting[0].at_us + FLUSH_US <= at_us:
            self._flush(at_us)
        if self._state_us <= at_us:
            self._send_state(at_us)

    def membrane_changed(self, at_us: int) -> None:
        """The membrane reads otherwise from this time on."""
        self._take(self._scanner.change(at_us, self._readings()))

    def stop(self, at_us: int) -> None:
        """What was sampled before still leaves."""
        self._take(self._scanner.sample(at_us))
        if self._waiting:
            self._flush(at_us)

    def counts(self, at_us: int) -> Counts:
        """For HEARTBEAT."""
        return self._scanner.scans_until(at_us), self._scanner.scan_us, self._scanner.overloads

    def _take(self, seen: list[Sampled]) -> None:
        """The first scan has nothing to be compared with: it shows in the first STATE only."""
        for each in seen if self._shown else ():
            self._waiting.append(each)
            if len(self._waiting) >= MAX_TRANSITIONS:
                self._flush(each.at_us)

    def _flush(self, at_us: int) -> None:
        first = self._waiting[0].at_us
        entries = tuple(Transition(each.at_us - first, each.driven, each.sensed, each.closed) for each in self._waiting)
        self._waiting.clear()
        self._emit(at_us, Transitions(self._clock(first), entries))

    def _send_state(self, at_us: int) -> None:
        if self._waiting:
            self._flush(at_us)
        scanner = self._scanner
        closed = b"".join(scanner.rows[line].to_bytes(self._row_bytes, "little") for line in scanner.driven)
        scans = scanner.scans_until(at_us)
        self._emit(at_us, State(self._clock(scanner.scan_end_us(scans)), 0, closed))
        self._shown = True
        self._state_us = scanner.scan_end_us(scans + max(1, STATE_US // scanner.period_us))
