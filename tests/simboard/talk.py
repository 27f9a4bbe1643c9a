"""A host for tests of the firmware: one command, one answer, in the board's own time."""

from __future__ import annotations

from tailwise.wire.frames import Frame, encode_frame
from tailwise.wire.messages import (
    Ack,
    Command,
    Hello,
    Identity,
    LineRole,
    Message,
    Refused,
    SetLines,
    SetScan,
    Start,
    State,
    Transitions,
)
from tests.simboard.board import SimBoard

Pairs = frozenset[tuple[int, int]]
"""(driven, sensed) board lines that read closed."""


class Talk:
    """Speaks to one simulated board and keeps its place in what was heard."""

    def __init__(self, board: SimBoard) -> None:
        self.board = board
        self._number = 0
        self._seen = 0

    def send(self, kind: int, payload: bytes = b"") -> int:
        """Send a frame of any type; gives its number."""
        number = self._number
        self._number = (number + 1) % 65536
        self.board.write(encode_frame(kind, number, payload))
        return number

    def heard(self, microseconds: float = 0) -> list[tuple[float, Frame]]:
        """Let time pass; frames that came since the last call, with the time they were complete."""
        if microseconds:
            self.board.run(microseconds)
        news = self.board.arrivals[self._seen :]
        self._seen = len(self.board.arrivals)
        return news

    def messages(self, microseconds: float = 0) -> list[Message]:
        """As `heard`, but only the messages."""
        return [message for _, frame in self.heard(microseconds) if (message := frame.message()) is not None]

    def answer_to(self, kind: int, payload: bytes = b"") -> Message:
        """Send a frame and give what answers it; AssertionError where nothing does within 250 ms."""
        number = self.send(kind, payload)
        for _ in range(250):
            for message in self.messages(1000):
                if isinstance(message, Ack | Refused | Identity) and message.command == number:
                    return message
        raise AssertionError(f"no answer to a message of type {kind:#x}")

    def ask(self, command: Command) -> Message:
        """As `answer_to`, for a command of the protocol."""
        return self.answer_to(command.TYPE, command.payload())

    def start(self, roles: bytes, settle_ns: int = 0, period_us: int = 0) -> Ack:
        """HELLO, configure, START; the ACK of START."""
        self.board.run(6000)
        assert isinstance(self.ask(Hello(1, 1)), Identity)
        for command in (SetLines(roles), SetScan(period_us, settle_ns)):
            assert isinstance(self.ask(command), Ack)
        started = self.ask(Start(0))
        assert isinstance(started, Ack), started
        return started


def both(lines: int) -> bytes:
    """Roles that drive and sense so many lines."""
    return bytes([LineRole.BOTH] * lines)


def closed_in(state: State, lines: int = 24) -> Pairs:
    """What a STATE shows, all of the first `lines` being driven."""
    width = 3
    rows = [int.from_bytes(state.closed[at : at + width], "little") for at in range(0, len(state.closed), width)]
    return frozenset((driven, sensed) for driven, row in enumerate(rows) for sensed in range(lines) if row >> sensed & 1)


def every_closure(messages: list[Message]) -> Pairs:
    """Every pair that any message ever showed closed."""
    found: set[tuple[int, int]] = set()
    for message in messages:
        if isinstance(message, State):
            found |= closed_in(message)
        elif isinstance(message, Transitions):
            found |= {(entry.driven, entry.sensed) for entry in message.entries if entry.closed}
    return frozenset(found)


def joined(*groups: tuple[int, ...]) -> Pairs:
    """Every ordered pair within groups of joined lines."""
    return frozenset((a, b) for group in groups for a in group for b in group if a != b)
