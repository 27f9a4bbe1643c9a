"""A conversation with the board under test, and everything that was said in it.

One command at a time, as PROTOCOL.md asks of a host. Nothing is judged here; rules read the log afterwards.
All times are the link's microseconds, real or virtual.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from tailwise.link.base import Link
from tailwise.wire.frames import Frame, FrameError, FrameSplitter, encode_frame
from tailwise.wire.messages import (
    BOOT_SILENCE_MS,
    PROTOCOL,
    Ack,
    Alive,
    Command,
    Hello,
    Identity,
    Message,
    Refused,
    ScanMode,
    SetLines,
    SetScan,
    SetWatch,
    Start,
    Stop,
)
from tailwise.wire.payload import PayloadError

ANSWER_WAIT_S = 1.0
"""Longer than the protocol allows, so that a late answer is told from none."""
_READ_S = 0.05
_HELLO_EACH_S = 0.5

Answer = Ack | Refused | Identity


@dataclass(frozen=True, slots=True)
class Heard:
    """A good frame. message: None for a type this version does not know, or (fits False) a payload that does not fit."""

    at_us: int
    frame: Frame
    message: Message | None
    fits: bool = True


@dataclass(slots=True)
class Asked:
    """A good frame that was sent, and its answers in order. excused: damage before it may have cost it."""

    at_us: int
    number: int
    type: int
    answers: list[Heard] = field(default_factory=list)
    excused: bool = False

    @property
    def answer(self) -> Message | None:
        """The first answer's message."""
        return self.answers[0].message if self.answers else None


@dataclass(slots=True)
class Run:
    """One scan from its START to its end: the roles, and the log from `first` up to `end` (None while it goes on).

    pairs: of a watch, sensed and driven lines in turn; empty for a scan of the matrix.
    """

    roles: bytes
    first: int
    end: int | None = None
    stopped: bool = False
    pairs: bytes = b""


class Session:
    """One board under test. hellos: how many of the first commands were HELLOs that a booting board may have missed."""

    def __init__(self, link: Link) -> None:
        self.link = link
        self.heard: list[Heard] = []
        self.bad: list[FrameError] = []
        self.bad_at: list[int] = []
        self.hellos = 0
        self.damaged_at = 0
        self.damaged_us = 0
        self.silence: object = None
        self.pairs: object = None
        self.asked: list[Asked] = []
        self.runs: list[Run] = []
        self.watches: list[Run] = []
        self.stray: list[Heard] = []
        self.found: Identity | None = None
        self.identified_at = 0
        self._roles = b""
        self._pairs = b""
        self._number = 0
        self._splitter = FrameSplitter()

    @property
    def identity(self) -> Identity:
        """Who the board said it is; only after `open`."""
        assert self.found is not None
        return self.found

    # bytes -----------------------------------------------------------------------------------------------------

    def raw(self, data: bytes) -> None:
        """Bytes that need not be a frame."""
        self.damaged_at, self.damaged_us = len(self.heard), self.link.now_us()
        self.link.write(data)

    def listen(self, seconds: float) -> list[Heard]:
        """Everything that comes in this time, nothing being said."""
        first = len(self.heard)
        until = self.link.now_us() + round(seconds * 1e6)
        while (left := until - self.link.now_us()) > 0:
            self._read(left / 1e6)
        return self.heard[first:]

    def wait_for(self, kind: type[Message], seconds: float) -> Message | None:
        """The next message of a kind, or None where none comes in this time."""
        first = len(self.heard)
        until = self.link.now_us() + round(seconds * 1e6)
        while (left := until - self.link.now_us()) > 0:
            self._read(left / 1e6)
            for heard in self.heard[first:]:
                if isinstance(heard.message, kind):
                    return heard.message
        return None

    def _read(self, seconds: float) -> None:
        data = self.link.read(min(seconds, _READ_S))
        now = self.link.now_us()
        for item in self._splitter.feed(data) if data else ():
            if isinstance(item, FrameError):
                self.bad.append(item)
                self.bad_at.append(now)
                continue
            try:
                self._log(Heard(now, item, item.message()))
            except PayloadError:
                self._log(Heard(now, item, None, fits=False))

    def _log(self, heard: Heard) -> None:
        self.heard.append(heard)
        if not isinstance(heard.message, Ack | Refused | Identity):
            return
        for asked in reversed(self.asked):
            if asked.number == heard.message.command:
                asked.answers.append(heard)
                return
        self.stray.append(heard)

    # commands --------------------------------------------------------------------------------------------------

    def send(self, kind: int, payload: bytes, number: int | None = None) -> Asked:
        """Send a frame and wait for nothing."""
        if number is None:
            number = self._number = (self._number + 1) % 65536
        asked = Asked(self.link.now_us(), number, kind)
        self.asked.append(asked)
        self.link.write(encode_frame(kind, number, payload))
        return asked

    def ask_frame(self, kind: int, payload: bytes, number: int | None = None) -> Asked:
        """Send a frame and wait for its answer; its `answers` stay empty where none comes."""
        asked = self.send(kind, payload, number)
        until = asked.at_us + round(ANSWER_WAIT_S * 1e6)
        while not asked.answers and (left := until - self.link.now_us()) > 0:
            self._read(left / 1e6)
        return asked

    def ask(self, command: Command, number: int | None = None) -> Asked:
        """Send a command and wait for its answer; keeps the books of roles and runs."""
        asked = self.ask_frame(command.TYPE, command.payload(), number)
        if isinstance(asked.answer, Ack):
            if isinstance(command, SetLines):
                self._roles = command.roles.ljust(self.identity.line_count, b"\0")
            elif isinstance(command, SetWatch):
                self._pairs = command.pairs
            elif isinstance(command, Start):
                self._end_run(stopped=False)
                watches = command.mode == ScanMode.WATCH
                run = Run(self._roles, self.heard.index(asked.answers[0]) + 1, pairs=self._pairs if watches else b"")
                (self.watches if watches else self.runs).append(run)
            elif isinstance(command, Stop):
                self._end_run(stopped=True)
        return asked

    def _end_run(self, *, stopped: bool) -> None:
        for runs in (self.runs, self.watches):
            if runs and runs[-1].end is None:
                runs[-1].end, runs[-1].stopped = len(self.heard), stopped

    def configure(self, roles: bytes, period_us: int = 0, settle_ns: int = 0) -> tuple[Asked, Asked]:
        """SET_LINES and SET_SCAN."""
        return self.ask(SetLines(roles)), self.ask(SetScan(period_us, settle_ns))

    def live(self, seconds: float, each_s: float = 0.4) -> list[Heard]:
        """Everything that comes in this time, the host saying ALIVE meanwhile."""
        first = len(self.heard)
        until = self.link.now_us() + round(seconds * 1e6)
        while (left := until - self.link.now_us()) > 0:
            self.ask(Alive())
            self.listen(min(each_s, left / 1e6))
        return self.heard[first:]

    # beginning -------------------------------------------------------------------------------------------------

    def open(self) -> bool:
        """HELLO until IDENTITY, as after opening a port; False where none comes."""
        self.raw(b"\0")
        until = self.link.now_us() + (BOOT_SILENCE_MS + 2000) * 1000
        while self.found is None and self.link.now_us() < until:
            self.send(Hello.TYPE, Hello(PROTOCOL, PROTOCOL).payload())
            again = self.link.now_us() + round(_HELLO_EACH_S * 1e6)
            while self.found is None and (left := again - self.link.now_us()) > 0:
                self._read(left / 1e6)
                self._look_for_identity()
        self.hellos = len(self.asked)
        self.stray.clear()
        return self.found is not None

    def _look_for_identity(self) -> None:
        for at, heard in enumerate(self.heard):
            if isinstance(heard.message, Identity):
                self.found, self.identified_at = heard.message, at
                return

    def settle(self) -> bool:
        """Idle before the next rule, whatever the last one left behind; False where the board answers nothing any more."""
        if self.ask(Stop()).answers:
            return True
        self.raw(b"\0")
        return bool(self.ask(Stop()).answers)
