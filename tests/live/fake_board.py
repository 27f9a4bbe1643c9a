"""A board for tests of the host's side: plain, scriptable, and written apart from the practice bench."""

from __future__ import annotations

import heapq
from collections.abc import Callable
from itertools import count

from tailwise.link.base import Link, LinkLost
from tailwise.wire.frames import Frame, FrameSplitter, encode
from tailwise.wire.messages import (
    Ack,
    Alive,
    Booted,
    Heartbeat,
    Hello,
    Identity,
    LineCheck,
    Refusal,
    Refused,
    Report,
    ResetCause,
    RunState,
    SetLines,
    SetScan,
    Start,
    State,
    Stop,
)


class FakeBoard:
    """Answers commands, sends STATE each 20 ms and HEARTBEAT each 500 ms. Times: microseconds, given by the caller."""

    def __init__(
        self,
        *,
        lines: int = 24,
        protocol: tuple[int, int] = (1, 1),
        boot_us: int = 0,
        garbage: bytes = b"",
        unique_id: bytes = b"\x01",
        tick_ns: int = 1000,
        statuses: bytes | None = None,
        line_check: bool = True,
    ) -> None:
        self.lines = lines
        self.protocol = protocol
        self.boot_us = boot_us
        self.garbage = garbage
        self.unique_id = unique_id
        self.tick_ns = tick_ns
        self.statuses = statuses or bytes([1] * lines)
        self.line_check = line_check
        self.deaf_to: dict[type, int] = {}
        self.mute = False
        self.refuse: dict[type, int] = {}
        self.heard: list[object] = []
        self.power_up(0)

    def power_up(self, now: int, cause: ResetCause = ResetCause.EXTERNAL) -> None:
        """Reset: everything forgotten, garbage first, BOOTED after the boot loader."""
        self._number = 0
        self._splitter = FrameSplitter()
        self._out = bytearray(self.garbage)
        self._boot_at: int | None = now + self.boot_us
        self._cause = cause
        self.state = RunState.IDLE
        self._configured = 0
        self._known = False
        self._state_at = self._beat_at = now
        self._host_at = now

    def say(self, report: Report) -> None:
        """Queue a frame."""
        if not self.mute:
            self._out += encode(report, self._number)
        self._number = (self._number + 1) & 0xFFFF

    def receive(self, data: bytes, now: int) -> None:
        """Bytes from the host; a booting board hears none."""
        if self._boot_at is not None:
            return
        for frame in self._splitter.feed(data):
            if isinstance(frame, Frame):
                self._host_at = now
                self._command(frame, now)

    def poll(self, now: int) -> bytes:
        """Bytes that leave by now."""
        if self._boot_at is not None and now >= self._boot_at:
            self._boot_at = None
            self.say(Booted(self._cause))
            self._beat_at = now
        if self.state is RunState.SCANNING:
            if now - self._host_at > 2_000_000:
                self.state = RunState.HOST_SILENT
            elif now >= self._state_at:
                self._state_at = now + 20_000
                self.say(State(now & 0xFFFFFFFF, 0, bytes(self._driven * -(-self.lines // 8))))
        if self._known and now >= self._beat_at:
            self._beat_at = now + 500_000
            self.say(Heartbeat(now & 0xFFFFFFFF, self.state, 0, 0, 0, 1, 200, 0))
        data = bytes(self._out)
        self._out.clear()
        return data

    def _command(self, frame: Frame, now: int) -> None:
        message = frame.message()
        self.heard.append(message)
        if self.deaf_to.get(type(message), 0) > 0:
            self.deaf_to[type(message)] -= 1
            return
        if type(message) in self.refuse:
            self.say(Refused(frame.number, frame.type, self.refuse[type(message)], 255, "because"))
            return
        match message:
            case Hello(protocol_min=low, protocol_max=high):
                if high < self.protocol[0] or low > self.protocol[1]:
                    self.say(Refused(frame.number, frame.type, Refusal.NO_PROTOCOL, 255, "too old"))
                else:
                    self._known = True
                    self.say(self._identity(frame.number))
            case SetLines(roles=roles):
                self._driven = sum(1 for role in roles if role)
                self._configure(frame, now, 1)
            case SetScan():
                self._configure(frame, now, 2)
            case Start():
                self._start(frame, now)
            case Stop():
                self.state = RunState.IDLE
                self.say(Ack(frame.number, frame.type, now & 0xFFFFFFFF))
            case Alive():
                self.say(Ack(frame.number, frame.type, now & 0xFFFFFFFF))
            case _:
                self.say(Refused(frame.number, frame.type, Refusal.UNKNOWN_MESSAGE, 255, ""))

    def _configure(self, frame: Frame, now: int, bit: int) -> None:
        if self.state is RunState.SCANNING:
            self.say(Refused(frame.number, frame.type, Refusal.RUNNING, 255, ""))
        else:
            self._configured |= bit
            self.say(Ack(frame.number, frame.type, now & 0xFFFFFFFF))

    def _start(self, frame: Frame, now: int) -> None:
        if self.state is RunState.SCANNING:
            self.say(Refused(frame.number, frame.type, Refusal.RUNNING, 255, ""))
            return
        if self._configured != 3:
            self.say(Refused(frame.number, frame.type, Refusal.NOT_CONFIGURED, 255, ""))
            return
        if self.line_check:
            self.say(LineCheck(now & 0xFFFFFFFF, self.statuses))
        if any(status in (2, 3) for status in self.statuses):
            self.say(Refused(frame.number, frame.type, Refusal.HELD_LINE, 0, ""))
            return
        self.state = RunState.SCANNING
        self._state_at = now
        self.say(Ack(frame.number, frame.type, now & 0xFFFFFFFF))

    def _identity(self, number: int) -> Identity:
        checked = bytes([255] * -(-self.lines // 8))
        low, high = self.protocol
        return Identity(
            number, low, high, 1, 2, 3, self.lines, 1, self.tick_ns, 8000, 9000, 64, 64, checked, self.unique_id, "fake"
        )


class FakeLink(Link):
    """A FakeBoard in virtual time. `at` schedules what happens to it."""

    url = "fake:"

    def __init__(self, board: FakeBoard) -> None:
        self.board = board
        self.plugged = True
        self.closed = False
        self._now = 0
        self._order = count()
        self._plan: list[tuple[int, int, Callable[[], None]]] = []

    def at(self, us: int, action: Callable[[], None]) -> None:
        """Do something at this time of the link."""
        heapq.heappush(self._plan, (us, next(self._order), action))

    def unplug(self) -> None:
        """Pull the cable."""
        self.plugged = False

    def plug(self) -> None:
        """Put it back."""
        self.plugged = True

    def reset(self) -> None:
        """The board restarts behind the living link."""
        self.board.power_up(self._now, ResetCause.WATCHDOG)

    def now_us(self) -> int:
        return self._now

    def write(self, data: bytes) -> None:
        if not self.plugged:
            raise LinkLost("unplugged")
        self.board.receive(data, self._now)

    def read(self, timeout_s: float) -> bytes:
        until = self._now + round(timeout_s * 1e6)
        while True:
            if not self.plugged:
                raise LinkLost("unplugged")
            data = self.board.poll(self._now)
            if data or self._now >= until:
                return data
            self._step(min(until, self._now + 1000))

    def close(self) -> None:
        self.closed = True

    def reopen(self) -> bool:
        self._step(self._now + 250_000)
        if self.plugged:
            self.board.power_up(self._now)
        return self.plugged

    def _step(self, to: int) -> None:
        self._now = to
        while self._plan and self._plan[0][0] <= to:
            heapq.heappop(self._plan)[2]()
