"""The minimal board of PROTOCOL.md, section 15, in virtual time: a second board beside the practice bench's own.

Written from the prose alone. Every step is a method of its own, so that a mutant can get one of them wrong.
"""

from __future__ import annotations

from collections.abc import Callable

from tailwise.wire.frames import Frame, FrameError, decode_frame, encode
from tailwise.wire.messages import (
    Ack,
    Alive,
    Booted,
    Heartbeat,
    Hello,
    Identity,
    LineCheck,
    Message,
    Refusal,
    Refused,
    RunState,
    SetLines,
    SetScan,
    Start,
    State,
    Stop,
    Transitions,
)
from tailwise.wire.payload import PayloadError, Transition

Pair = tuple[int, int]
Keyboard = Callable[[int], frozenset[Pair]]
"""Microseconds -> the (driven, sensed) pairs that read closed."""


class MinimalBoard:
    """Six lines, four of them checked before a drive. `out` collects bytes for the host; times are microseconds."""

    lines = 6
    checked = 4
    max_command_bytes = 64
    settle_default_ns = 450_000
    settle_max_ns = 1_000_000
    turn_us = 50
    state_us = 20_000
    flush_us = 2_000
    heartbeat_us = 500_000
    silence_us = 2_000_000
    held: tuple[int, ...] = ()
    boot_us = 0

    def __init__(self, keyboard: Keyboard, clock_start: int = 0) -> None:
        self.keyboard = keyboard
        self.clock_start = clock_start
        self.out = bytearray()
        self.later: list[tuple[int, Message]] = []
        self.now = 0
        self.boot_at: int | None = self.boot_us
        self.reset()

    def reset(self) -> None:
        """All pins inputs, nothing configured."""
        self.number = 0
        self.state = RunState.IDLE
        self.roles: bytes | None = None
        self.scan_setting: tuple[int, int] | None = None
        self.heard_hello = False
        self.bad_frames = self.dropped = self.scans = self.worst_scan = 0
        self.collected = bytearray()
        self.last_good = self.now
        self.beat_at = self.state_at = self.scan_at = 0
        self.before: dict[int, int] | None = None
        self.waiting: list[tuple[int, int, int, bool]] = []

    # time ------------------------------------------------------------------------------------------------------

    def clock_at(self, at_us: int) -> int:
        """The board's clock at a time."""
        return (at_us + self.clock_start) % (1 << 32)

    def events(self) -> list[int]:
        """Times at which something is due."""
        due = [at for at, _ in self.later]
        if self.boot_at is not None:
            due.append(self.boot_at)
        if self.heard_hello:
            due.append(self.beat_at)
        if self.state == RunState.SCANNING:
            due += [self.scan_at, self.last_good + self.silence_us]
            if self.waiting:
                due.append(self.waiting[0][0] + self.flush_us)
        return due

    def run(self) -> None:
        """Do what is due now."""
        if self.boot_at is not None and self.boot_at <= self.now:
            self.boot_at = None
            self.booted()
        for entry in [entry for entry in self.later if entry[0] <= self.now]:
            self.later.remove(entry)
            self.send(entry[1])
        if self.state == RunState.SCANNING and self.scan_at <= self.now:
            self.scan()
        if self.waiting and self.waiting[0][0] + self.flush_us <= self.now:
            self.flush()
        if self.state == RunState.SCANNING and self.last_good + self.silence_us <= self.now:
            self.silence()
        if self.heard_hello and self.beat_at <= self.now:
            self.beat_at += self.heartbeat_us
            self.heartbeat()

    def booted(self) -> None:
        """The first frame."""
        self.send(Booted(1))

    def silence(self) -> None:
        """The host has gone; what was sampled still leaves."""
        self.flush()
        self.state = RunState.HOST_SILENT

    # sending ---------------------------------------------------------------------------------------------------

    def send(self, message: Message) -> None:
        """Number a message and send it."""
        self.out += encode(message, self.number)
        self.number = (self.number + 1) % 65536

    def refuse(self, frame: Frame, code: Refusal, detail: int = 255) -> None:
        """A command is not carried out."""
        self.send(Refused(frame.number, frame.type, code, detail, "no"))

    def ack(self, frame: Frame) -> None:
        """A command was carried out."""
        self.send(Ack(frame.number, frame.type, self.clock_at(self.now)))

    def heartbeat(self) -> None:
        """The board's health."""
        clock = self.clock_at(self.now)
        self.send(Heartbeat(clock, self.shown_state(), self.dropped, self.bad_frames, 0, self.scans, self.worst_scan, 0))

    def shown_state(self) -> int:
        """What HEARTBEAT says."""
        return self.state

    # receiving -------------------------------------------------------------------------------------------------

    def receive(self, data: bytes) -> None:
        """Bytes from the host."""
        if self.boot_at is not None:
            return
        for byte in data:
            if byte:
                self.collect(byte)
            else:
                self.end_of_frame()

    def collect(self, byte: int) -> None:
        """One byte more; beyond the longest command only that it is too long is kept."""
        if len(self.collected) <= self.max_command_bytes + 1:
            self.collected.append(byte)

    def end_of_frame(self) -> None:
        """A 00 came."""
        stuffed = bytes(self.collected)
        self.collected.clear()
        if not stuffed:
            return
        try:
            frame = self.decode(stuffed)
        except FrameError as error:
            self.bad(error)
            return
        self.last_good = self.now
        self.handle(frame)

    def decode(self, stuffed: bytes) -> Frame:
        """FrameError where it is none."""
        if len(stuffed) > self.max_command_bytes + 1:
            raise FrameError("longer than any command", stuffed)
        return decode_frame(stuffed)

    def bad(self, error: FrameError) -> None:
        """A bad frame."""
        self.bad_frames = min(65535, self.bad_frames + 1)

    def parse(self, frame: Frame) -> Message | None:
        """The command of a frame; PayloadError where it does not fit, None where it is none."""
        return frame.message() if frame.type <= Alive.TYPE else None

    def handle(self, frame: Frame) -> None:
        """A good frame."""
        try:
            message = self.parse(frame)
        except PayloadError:
            self.refuse(frame, Refusal.BAD_PAYLOAD)
            return
        match message:
            case Hello():
                self.hello(frame, message)
            case Alive():
                self.ack(frame)
            case Stop():
                self.stop(frame)
            case SetLines():
                self.set_lines(frame, message)
            case SetScan():
                self.set_scan(frame, message)
            case Start():
                self.start(frame, message)
            case _:
                self.unknown(frame)

    def unknown(self, frame: Frame) -> None:
        """A type nobody knows."""
        self.refuse(frame, Refusal.UNKNOWN_MESSAGE)

    def hello(self, frame: Frame, message: Hello) -> None:
        """Who is there."""
        if not message.protocol_min <= 1 <= message.protocol_max:
            self.refuse(frame, Refusal.NO_PROTOCOL)
            return
        if not self.heard_hello:
            self.heard_hello = True
            self.beat_at = self.now + self.heartbeat_us
        self.send(self.identity(frame.number))

    def identity(self, command: int) -> Identity:
        """Who the board is."""
        return Identity(
            command=command,
            protocol_min=1,
            protocol_max=1,
            firmware_major=0,
            firmware_minor=1,
            firmware_patch=0,
            line_count=self.lines,
            capabilities=1,
            clock_tick_ns=1000,
            settle_default_ns=self.settle_default_ns,
            settle_max_ns=self.settle_max_ns,
            queue_transitions=64,
            max_command_bytes=self.max_command_bytes,
            checked_lines=bytes([(1 << self.checked) - 1]),
            unique_id=b"",
            board="minimal",
        )

    def set_lines(self, frame: Frame, message: SetLines) -> None:
        """Roles."""
        if self.state == RunState.SCANNING:
            self.refuse(frame, Refusal.RUNNING)
            return
        for line, role in enumerate(message.roles):
            if role > 3 or (line >= self.lines and role):
                self.refuse(frame, Refusal.BAD_LINE, line)
                return
        self.roles = message.roles[: self.lines].ljust(self.lines, b"\0")
        self.ack(frame)

    def set_scan(self, frame: Frame, message: SetScan) -> None:
        """Period and settle time."""
        if self.state == RunState.SCANNING:
            self.refuse(frame, Refusal.RUNNING)
        elif message.period_us > 20_000 or message.settle_ns > self.settle_max_ns:
            self.refuse(frame, Refusal.BAD_PAYLOAD)
        else:
            self.scan_setting = message.period_us, message.settle_ns
            self.ack(frame)

    def start(self, frame: Frame, message: Start) -> None:
        """Check, then scan."""
        if self.state == RunState.SCANNING:
            self.refuse(frame, Refusal.RUNNING)
        elif message.mode != 0:
            self.refuse(frame, Refusal.BAD_PAYLOAD)
        elif not self.can_scan():
            self.refuse(frame, Refusal.NOT_CONFIGURED)
        else:
            self.line_check()
            held = [line for line in self.held if self.roles and self.roles[line]]
            if held:
                self.state = RunState.REFUSED_DRIVE
                self.refuse(frame, Refusal.HELD_LINE, held[0])
                return
            self.ack(frame)
            self.begin()

    def can_scan(self) -> bool:
        """Configured, with a line to drive and another to sense."""
        if self.roles is None or self.scan_setting is None:
            return False
        return any(
            self.roles[drive] & 1 and self.roles[sense] & 2
            for drive in range(self.lines)
            for sense in range(self.lines)
            if drive != sense
        )

    def line_check(self) -> None:
        """What the undriven lines did."""
        self.send(LineCheck(self.clock_at(self.now), bytes(self.status(line) for line in range(self.lines))))

    def status(self, line: int) -> int:
        """A line's status."""
        assert self.roles is not None
        if not self.roles[line]:
            return 0
        if line >= self.checked:
            return 4
        return 2 if line in self.held else 1

    def begin(self) -> None:
        """The run begins."""
        self.dropped = self.scans = self.worst_scan = 0
        self.before = None
        self.waiting.clear()
        self.state = RunState.SCANNING
        self.scan_at = self.now + self.scan_us()

    def stop(self, frame: Frame) -> None:
        """The run ends; what was sampled still leaves."""
        self.flush()
        self.state = RunState.IDLE
        self.ack(frame)

    # scanning --------------------------------------------------------------------------------------------------

    def driven(self) -> list[int]:
        """The driven lines."""
        return [line for line, role in enumerate(self.roles or b"") if role & 1]

    def scan_us(self) -> int:
        """How long one scan takes."""
        assert self.scan_setting is not None
        settle_us = -(-(self.scan_setting[1] or self.settle_default_ns) // 1000)
        return len(self.driven()) * (settle_us + self.turn_us)

    def scan(self) -> None:
        """One scan, that ends now."""
        assert self.roles is not None and self.scan_setting is not None
        length, driven = self.scan_us(), self.driven()
        turn = length // len(driven)
        now: dict[int, int] = {}
        for at, drive in enumerate(driven):
            sampled = self.now - length + (at + 1) * turn - self.turn_us
            closed = self.keyboard(sampled)
            now[drive] = sum(
                1 << sense
                for sense in range(self.lines)
                if self.roles[sense] & 2 and (drive, sense) in closed and sense != drive
            )
            self.compare(sampled, drive, now[drive])
        self.scans += 1
        self.worst_scan = max(self.worst_scan, length)
        first, self.before = self.before is None, now
        if first or self.state_at + self.state_us <= self.now:
            self.flush()
            self.report_state()
        self.scan_at = self.now + max(self.scan_setting[0], length)

    def compare(self, sampled: int, drive: int, bits: int) -> None:
        """Queue what changed since the scan before."""
        if self.before is None:
            return
        changed = bits ^ self.before[drive]
        for sense in range(self.lines):
            if changed >> sense & 1:
                self.waiting.append((sampled, drive, sense, bool(bits >> sense & 1)))

    def flush(self) -> None:
        """TRANSITIONS."""
        while self.waiting:
            part, self.waiting = self.waiting[:60], self.waiting[60:]
            first = part[0][0]
            self.report_transitions(first, tuple(Transition(at - first, d, s, closed) for at, d, s, closed in part))

    def report_transitions(self, first: int, entries: tuple[Transition, ...]) -> None:
        """One TRANSITIONS."""
        self.send(Transitions(self.clock_at(first), entries))

    def report_state(self) -> None:
        """One STATE."""
        self.state_at = self.now
        self.send(State(self.clock_at(self.now), self.dropped, self.bitmaps()))

    def bitmaps(self) -> bytes:
        """The matrix as STATE shows it."""
        assert self.before is not None
        return b"".join(self.before[drive].to_bytes(-(-self.lines // 8), "little") for drive in self.driven())
