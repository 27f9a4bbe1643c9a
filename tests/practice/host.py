"""A small host for the tests: plays a run over any link and keeps every frame with the time it came."""

from __future__ import annotations

from dataclasses import dataclass, field

from tailwise.link.base import Link, LinkEnded, LinkLost
from tailwise.model.mark import Mark
from tailwise.wire.frames import Frame, FrameError, FrameSplitter, encode, encode_frame
from tailwise.wire.messages import (
    Ack,
    Alive,
    Command,
    Hello,
    Identity,
    Message,
    Refused,
    SetLines,
    SetScan,
    Start,
    Stop,
    Transitions,
)

Answer = Ack | Refused | Identity


@dataclass
class Host:
    """Sends commands one at a time; `frames` holds (link time, frame or error) in order."""

    link: Link
    frames: list[tuple[int, Frame | FrameError]] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    lost: list[int] = field(default_factory=list)
    number: int = 0
    lines: int = 0
    _splitter: FrameSplitter = field(default_factory=FrameSplitter)

    def read(self, timeout_s: float) -> None:
        data = self.link.read(timeout_s)
        now = self.link.now_us()
        self.frames += [(now, item) for item in self._splitter.feed(data)]
        self.marks += self.link.take_marks()

    def wait(self, seconds: float) -> None:
        """Only listen."""
        until = self.link.now_us() + round(seconds * 1e6)
        while self.link.now_us() < until:
            self.read((until - self.link.now_us()) / 1e6)

    def messages(self) -> list[Message]:
        return [message for _, frame in self.frames if isinstance(frame, Frame) and (message := frame.message()) is not None]

    def send(self, data: bytes) -> None:
        self.link.write(data)
        self.number += 1

    def ask_raw(self, kind: int, payload: bytes) -> Answer:
        """A frame of any type and payload, and its answer."""
        number = self.number
        self.send(encode_frame(kind, number, payload))
        return self._answer(number)

    def ask(self, command: Command) -> Answer:
        number = self.number
        self.send(encode(command, number))
        return self._answer(number)

    def _answer(self, number: int) -> Answer:
        until = self.link.now_us() + 250_000
        seen = len(self.frames)
        while self.link.now_us() <= until:
            self.read(0.01)
            for _, frame in self.frames[seen:]:
                message = frame.message() if isinstance(frame, Frame) else None
                if isinstance(message, Ack | Refused | Identity) and message.command == number:
                    return message
        raise AssertionError(f"no answer to command {number} within 250 ms")

    def hello(self) -> Identity:
        """HELLO until the board is there."""
        while True:
            self.send(encode(Hello(1, 1), self.number))
            self.wait(0.5)
            for message in reversed(self.messages()):
                if isinstance(message, Identity):
                    return message

    def configure(self, lines: int) -> None:
        self.hello()
        for command in (Stop(), SetLines(bytes([3] * lines)), SetScan(0, 0)):
            assert isinstance(self.ask(command), Ack)

    def start(self, lines: int) -> Ack | Refused:
        self.lines = lines
        self.configure(lines)
        answer = self.ask(Start(0))
        assert isinstance(answer, Ack | Refused)
        return answer

    def stay(self) -> None:
        """ALIVE twice a second until the scenario is over; a lost link is reopened and started again."""
        last = self.link.now_us()
        try:
            while True:
                try:
                    self.read(0.1)
                    if self.link.now_us() - last >= 500_000:
                        self.send(encode(Alive(), self.number))
                        last = self.link.now_us()
                except LinkLost:
                    self.lost.append(self.link.now_us())
                    while not self.link.reopen():
                        pass
                    self.start(self.lines)
        except LinkEnded:
            return

    def readings(self) -> list[tuple[int, int, int, bool]]:
        """Every transition as (clock, driven, sensed, closed)."""
        return [
            ((message.clock + entry.delta) % 2**32, entry.driven, entry.sensed, entry.closed)
            for message in self.messages()
            if isinstance(message, Transitions)
            for entry in message.entries
        ]

    def started_clock(self) -> int:
        """The board's clock at the last acknowledged START."""
        return [
            message.clock for message in self.messages() if isinstance(message, Ack) and message.command_type == Start.TYPE
        ][-1]

    def closed_pairs(self) -> set[tuple[int, int]]:
        """(driven, sensed) of every reading that closed at any time by a transition."""
        return {(driven, sensed) for _, driven, sensed, closed in self.readings() if closed}
