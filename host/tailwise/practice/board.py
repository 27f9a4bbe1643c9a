"""The virtual board: wire protocol 1 as a state machine in bench time.

It owns no clock and no membrane: the bench tells it what time it is, hands it bytes from the host and the readings of the
membrane, and takes frames. Lines are at high impedance unless it scans. Times are microseconds of the bench.
"""

from __future__ import annotations

from collections.abc import Callable

from tailwise.practice.boardkind import BoardKind
from tailwise.practice.matrixrun import Counts, MatrixRun
from tailwise.practice.membrane import Readings
from tailwise.practice.scanner import Scanner
from tailwise.practice.watcher import Watch, Watcher
from tailwise.practice.watchrun import WatchRun
from tailwise.wire.frames import Frame, FrameError, FrameSplitter, encode
from tailwise.wire.messages import (
    HEARTBEAT_PERIOD_MS,
    HOST_SILENCE_MS,
    MESSAGE_TYPES,
    PROTOCOL,
    REFUSAL_WORDS,
    SCAN_PERIOD_MAX_US,
    Ack,
    Alive,
    Booted,
    Heartbeat,
    Hello,
    LineCheck,
    LineRole,
    LineStatus,
    Message,
    Refusal,
    Refused,
    RunState,
    ScanMode,
    SetLines,
    SetScan,
    SetWatch,
    Start,
    Stop,
    WatchPullUp,
)
from tailwise.wire.payload import PayloadError

CLOCK = 1 << 32
FIRST_BOARD_TYPE = 0x80
COMMANDS = frozenset(each.TYPE for each in (Hello, SetLines, SetScan, Start, Stop, Alive, SetWatch))
"""Commands that need no capability beyond those the board announces."""


class Board:
    """One board from power-up; `emit(at_us, bytes)` takes each frame as it leaves."""

    def __init__(
        self,
        kind: BoardKind,
        booted_us: int,
        cause: int,
        emit: Callable[[int, bytes], None],
        readings: Callable[[], Readings],
        check: Callable[[bytes], bytes],
        watcher: Callable[[Watch, int], Watcher],
        behind: Callable[[int], int],
    ) -> None:
        self.kind = kind
        self._booted_us = booted_us
        self._emit_bytes = emit
        self._readings = readings
        self._check = check
        self._watcher = watcher
        self._behind = behind
        self._watch: Watch | None = None
        self._splitter = FrameSplitter()
        self._number = 0
        self.run_state = RunState.IDLE
        self._roles: bytes | None = None
        self._scan: tuple[int, int] | None = None
        self._run: MatrixRun | WatchRun | None = None
        self._heard_us = booted_us
        self._heartbeat_us: int | None = None
        self._bad_frames = 0
        self._last: Counts = (0, 0, 0)
        self.started_us: int | None = None
        self.drive_refused = False
        self._emit(booted_us, Booted(cause))

    def clock(self, at_us: int) -> int:
        """The board's own clock, wrapping at 2**32."""
        return (at_us - self._booted_us + self.kind.clock_start) % CLOCK

    def _emit(self, at_us: int, message: Message) -> None:
        self._emit_bytes(at_us, encode(message, self._number))
        self._number = (self._number + 1) % 65536

    # time -----------------------------------------------------------------------------------------------------

    def next_us(self) -> int | None:
        """When `run_to` has something to do next."""
        times = [] if self._heartbeat_us is None else [self._heartbeat_us]
        if self._run is not None:
            times += [self._run.next_us(), self._heard_us + HOST_SILENCE_MS * 1000]
        return min(times, default=None)

    def run_to(self, at_us: int) -> None:
        """Do what is due at this time (never called for a time before the last)."""
        if self._run is not None:
            self._run.run_to(at_us)
            if self._heard_us + HOST_SILENCE_MS * 1000 <= at_us:
                self._halt(at_us, RunState.HOST_SILENT)
        if self._heartbeat_us is not None and self._heartbeat_us <= at_us:
            self._send_heartbeat(at_us)
            self._heartbeat_us += HEARTBEAT_PERIOD_MS * 1000

    def membrane_changed(self, at_us: int) -> None:
        """The membrane reads otherwise from this time on."""
        if self._run is not None:
            self._run.membrane_changed(at_us)

    def _send_heartbeat(self, at_us: int) -> None:
        if self._run is not None:
            self._last = self._run.counts(at_us)
        scans, worst, overloads = self._last
        self._emit(
            at_us, Heartbeat(self.clock(at_us), self.run_state, 0, min(65535, self._bad_frames), 0, scans, worst, overloads)
        )

    def _halt(self, at_us: int, state: RunState) -> None:
        """All lines to high impedance; what was sampled before still leaves."""
        if self._run is not None:
            self._run.stop(at_us)
            self._last = self._run.counts(at_us)
        self._run = None
        self.run_state = state

    # commands --------------------------------------------------------------------------------------------------

    def receive(self, at_us: int, data: bytes) -> None:
        """Bytes from the host."""
        for item in self._splitter.feed(data):
            if isinstance(item, FrameError) or len(item.payload) + 6 > self.kind.max_command_bytes:
                self._bad_frames += 1
                continue
            self._heard_us = at_us
            self._obey(at_us, item)

    def _refuse(self, at_us: int, frame: Frame, code: Refusal, detail: int = 255) -> None:
        self._emit(at_us, Refused(frame.number, frame.type, code, detail, REFUSAL_WORDS[code][0][:60]))

    def _ack(self, at_us: int, frame: Frame) -> None:
        self._emit(at_us, Ack(frame.number, frame.type, self.clock(at_us)))

    def _obey(self, at_us: int, frame: Frame) -> None:
        if frame.type not in COMMANDS:
            known = frame.type < FIRST_BOARD_TYPE and frame.type in MESSAGE_TYPES
            self._refuse(at_us, frame, Refusal.UNSUPPORTED if known else Refusal.UNKNOWN_MESSAGE)
            return
        try:
            message = frame.message()
        except PayloadError:
            self._refuse(at_us, frame, Refusal.BAD_PAYLOAD)
            return
        match message:
            case Hello():
                self._hello(at_us, frame, message)
            case SetLines() | SetScan() | Start() | SetWatch() if self._run is not None:
                self._refuse(at_us, frame, Refusal.RUNNING)
            case SetLines():
                self._set_lines(at_us, frame, message)
            case SetScan():
                self._set_scan(at_us, frame, message)
            case SetWatch():
                self._set_watch(at_us, frame, message)
            case Start():
                self._start(at_us, frame, message)
            case Stop():
                self._halt(at_us, RunState.IDLE)
                self._ack(at_us, frame)
            case Alive():
                self._ack(at_us, frame)

    def _hello(self, at_us: int, frame: Frame, hello: Hello) -> None:
        if not hello.protocol_min <= PROTOCOL <= hello.protocol_max:
            self._refuse(at_us, frame, Refusal.NO_PROTOCOL)
            return
        self._emit(at_us, self.kind.identity(frame.number))
        if self._heartbeat_us is None:
            self._heartbeat_us = at_us + HEARTBEAT_PERIOD_MS * 1000

    def _set_lines(self, at_us: int, frame: Frame, message: SetLines) -> None:
        for line, role in enumerate(message.roles):
            if role > LineRole.BOTH or (line >= self.kind.line_count and role != LineRole.UNUSED):
                self._refuse(at_us, frame, Refusal.BAD_LINE, line)
                return
        self._roles = message.roles[: self.kind.line_count].ljust(self.kind.line_count, b"\0")
        self._ack(at_us, frame)

    def _set_scan(self, at_us: int, frame: Frame, message: SetScan) -> None:
        if message.settle_ns > self.kind.settle_max_ns or message.period_us > SCAN_PERIOD_MAX_US:
            self._refuse(at_us, frame, Refusal.BAD_PAYLOAD)
            return
        self._scan = (message.period_us, message.settle_ns or self.kind.settle_default_ns)
        self._ack(at_us, frame)

    def _set_watch(self, at_us: int, frame: Frame, message: SetWatch) -> None:
        pairs = tuple(zip(message.pairs[::2], message.pairs[1::2], strict=False))
        sensed, driven = [pair[0] for pair in pairs], [pair[1] for pair in pairs]
        absent = next((line for line in message.pairs if line >= self.kind.line_count), None)
        if len(message.pairs) not in (2, 4) or message.pull_up > WatchPullUp.SWITCHED:
            self._refuse(at_us, frame, Refusal.BAD_PAYLOAD)
        elif absent is not None or set(sensed) & set(driven) or len(set(sensed)) < len(sensed):
            self._refuse(at_us, frame, Refusal.BAD_LINE, sensed[-1] if absent is None else absent)
        elif message.pull_up == WatchPullUp.SWITCHED and max(sensed) >= self.kind.checked:
            self._refuse(at_us, frame, Refusal.UNSUPPORTED, max(sensed))
        else:
            self._watch = Watch(pairs, message.pull_up == WatchPullUp.SWITCHED)
            self._ack(at_us, frame)

    def _start(self, at_us: int, frame: Frame, message: Start) -> None:
        if message.mode == ScanMode.MATRIX:
            roles = self._roles if self._roles is not None and self._scan is not None else b""
            ready = _can_scan(roles)
        elif message.mode == ScanMode.WATCH:
            watched = () if self._watch is None else self._watch.lines
            both, unused = LineRole.BOTH, LineRole.UNUSED
            roles = bytes(both if line in watched else unused for line in range(self.kind.line_count))
            ready = self._watch is not None
        else:
            self._refuse(at_us, frame, Refusal.BAD_PAYLOAD)
            return
        if not ready:
            self._refuse(at_us, frame, Refusal.NOT_CONFIGURED)
        elif self._drives(at_us, frame, roles):
            self._begin(at_us, message.mode, roles)

    def _drives(self, at_us: int, frame: Frame, roles: bytes) -> bool:
        """The line check and START's answer: whether the lines may be driven."""
        statuses = self._check(roles)
        self._emit(at_us, LineCheck(self.clock(at_us), statuses))
        held = [line for line, status in enumerate(statuses) if status in (LineStatus.HELD_HIGH, LineStatus.HELD_LOW)]
        if held:
            self.run_state = RunState.REFUSED_DRIVE
            self.drive_refused = True
            self._refuse(at_us, frame, Refusal.HELD_LINE, held[0])
            return False
        self._ack(at_us, frame)
        return True

    def _begin(self, at_us: int, mode: int, roles: bytes) -> None:
        if mode == ScanMode.WATCH and self._watch is not None:
            self._run = WatchRun(self._watcher(self._watch, at_us), self._emit, self.clock, self._behind)
        elif self._scan is not None:
            scanner = Scanner(at_us, roles, *self._scan, self._readings())
            self._run = MatrixRun(scanner, self.kind.line_count, self._readings, self._emit, self.clock)
        self.run_state = RunState.SCANNING
        self._last = (0, 0, 0)
        if self.started_us is None:
            self.started_us = at_us


def _can_scan(roles: bytes) -> bool:
    """Whether there is a line to drive and another to sense."""
    driven = {line for line, role in enumerate(roles) if role in (LineRole.DRIVEN, LineRole.BOTH)}
    sensed = {line for line, role in enumerate(roles) if role in (LineRole.SENSED, LineRole.BOTH)}
    return bool(driven and sensed and len(driven | sensed) > 1)
