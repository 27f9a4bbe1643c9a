"""A plain host for contract tests: says one thing at a time and looks for the answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from tailwise.link.base import Link
from tailwise.model.mark import Mark
from tailwise.recording.format import Marked, Received, Record, Sent
from tailwise.wire.frames import Frame, FrameSplitter, encode_frame
from tailwise.wire.messages import Ack, Command, Hello, Identity, Message, Refused, SetLines, SetScan, Start

T = TypeVar("T")


class Host:
    """Every good frame heard is kept in `frames`; bad ones fail the test."""

    def __init__(self, link: Link) -> None:
        self.link = link
        self.frames: list[Frame] = []
        self._splitter = FrameSplitter()
        self._number = 100
        self._seen = 0
        link.write(b"\0")

    def listen(self, seconds: float) -> list[Message | None]:
        """Messages that come within so much of the link's time."""
        start = len(self.frames)
        until = self.link.now_us() + round(seconds * 1e6)
        while self.link.now_us() < until:
            self._read((until - self.link.now_us()) / 1e6)
        self._seen = len(self.frames)
        return [frame.message() for frame in self.frames[start:]]

    def wait(self, seconds: float, wanted: Callable[[Message | None], T | None]) -> T:
        """What `wanted` makes of the first message it takes."""
        until = self.link.now_us() + round(seconds * 1e6)
        while True:
            while self._seen < len(self.frames):
                self._seen += 1
                found = wanted(self.frames[self._seen - 1].message())
                if found is not None:
                    return found
            assert self.link.now_us() < until, "no such answer in time"
            self._read((until - self.link.now_us()) / 1e6)

    def send(self, kind: int, payload: bytes) -> int:
        """Send a frame of any type; gives its number."""
        self._number += 1
        self.link.write(encode_frame(kind, self._number, payload))
        return self._number

    def ask(self, command: Command) -> Ack | Refused:
        """The answer to a command, by its number; in a replay by its type, since numbers there are another host's."""
        number = self.send(command.TYPE, command.payload())

        def answer(message: Message | None) -> Ack | Refused | None:
            if isinstance(message, Ack | Refused) and message.command_type == command.TYPE:
                return message if message.command == number or self.link.replays else None
            return None

        found = self.wait(0.25, answer)
        assert isinstance(found, Ack | Refused)
        return found

    def hello(self) -> Identity:
        """HELLO until IDENTITY."""
        until = self.link.now_us() + 5_000_000
        while True:
            self.send(Hello.TYPE, Hello(1, 1).payload())
            for message in self.listen(0.5):
                if isinstance(message, Identity):
                    return message
            assert self.link.now_us() < until, "no IDENTITY"

    def start(self, roles: bytes) -> Ack:
        """Configure and start."""
        for command in (SetLines(roles), SetScan(0, 0)):
            assert isinstance(self.ask(command), Ack)
        started = self.ask(Start(0))
        assert isinstance(started, Ack), started
        return started

    def _read(self, timeout_s: float) -> None:
        for item in self._splitter.feed(self.link.read(timeout_s)):
            assert isinstance(item, Frame) or not self.frames, item
            if isinstance(item, Frame):
                self.frames.append(item)


class Recorder(Link):
    """A link that notes every record of what passes through it."""

    def __init__(self, inner: Link) -> None:
        self.inner = inner
        self.records: list[Record] = []

    def now_us(self) -> int:
        return self.inner.now_us()

    def write(self, data: bytes) -> None:
        self.inner.write(data)
        self.records.append(Sent(self.now_us(), data))

    def read(self, timeout_s: float) -> bytes:
        data = self.inner.read(timeout_s)
        if data:
            self.records.append(Received(self.now_us(), data))
        return data

    def close(self) -> None:
        self.inner.close()

    def take_marks(self) -> list[Mark]:
        marks = self.inner.take_marks()
        self.records += [Marked(self.now_us(), mark) for mark in marks]
        return marks
