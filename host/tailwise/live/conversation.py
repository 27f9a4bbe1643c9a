"""Frames to and from the board: numbers what is said, splits what is heard, records every byte of both."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from tailwise.link.base import Link
from tailwise.recording.format import Received, Record, Sent
from tailwise.wire.frames import Frame, FrameSplitter, encode
from tailwise.wire.messages import REPLY_TIMEOUT_MS, Ack, Command, Identity, Message, Refused
from tailwise.wire.payload import PayloadError

ANSWERS = (Ack, Refused, Identity)


@dataclass(frozen=True, slots=True)
class Heard:
    """A good frame, its message (None where this version does not know it) and when it came, host microseconds."""

    frame: Frame
    message: Message | None
    host_us: int


class Conversation:
    """One link. `record` takes every record in order; `bytes_heard` and `frames_heard` count since `begin`.

    A replay brings its own records, so for one nothing is recorded here.
    """

    def __init__(self, link: Link, record: Callable[[Record], None]) -> None:
        self._link = link
        self._record = record
        self._splitter = FrameSplitter()
        self._pending: deque[Heard] = deque()
        self._number = 0
        self.bytes_heard = 0
        self.frames_heard = 0
        self.last_good_us = 0
        self._awaited: tuple[int, int] | None = None

    @property
    def awaiting(self) -> bool:
        """Whether the last command may still be answered: a host has at most one command unanswered."""
        return self._awaited is not None and self._link.now_us() < self._awaited[1]

    def begin(self) -> None:
        """A fresh port: half a frame from before is dropped, and a 00 ends whatever the board has half heard."""
        self._splitter = FrameSplitter()
        self._pending.clear()
        self._awaited = None
        self.bytes_heard = self.frames_heard = 0
        self.last_good_us = self._link.now_us()
        self._write(b"\0")

    def say(self, message: Command) -> int:
        """Send a command; gives its number."""
        number = self._number
        self._number = (number + 1) & 0xFFFF
        self._write(encode(message, number))
        self._awaited = (number, self._link.now_us() + REPLY_TIMEOUT_MS * 1000)
        return number

    def hear(self, timeout_s: float) -> Heard | None:
        """The next good frame, or None where none came by the timeout; bad ones are left to the judge, who counts them."""
        if not self._pending:
            self._read(timeout_s)
        return self._pending.popleft() if self._pending else None

    def _read(self, timeout_s: float) -> None:
        data = self._link.read(timeout_s)
        if not data:
            return
        now = self._link.now_us()
        if not self._link.replays:
            self._record(Received(now, data))
        self.bytes_heard += len(data)
        for frame in self._splitter.feed(data):
            if not isinstance(frame, Frame):
                continue
            self.frames_heard += 1
            self.last_good_us = now
            try:
                message = frame.message()
            except PayloadError:
                message = None
            if isinstance(message, ANSWERS) and self._awaited is not None and message.command == self._awaited[0]:
                self._awaited = None
            self._pending.append(Heard(frame, message, now))

    def _write(self, data: bytes) -> None:
        self._link.write(data)
        if not self._link.replays:
            self._record(Sent(self._link.now_us(), data))
