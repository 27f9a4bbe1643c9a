"""A link in virtual time to a board of these tests, and keyboards to hang on it."""

from __future__ import annotations

from tailwise.link.base import Link
from tests.conformance.minimal_board import MinimalBoard, Pair


def pressed(*keys: Pair) -> frozenset[Pair]:
    """Keys closed in both directions."""
    return frozenset(keys) | frozenset((sense, drive) for drive, sense in keys)


def busy_keyboard(at_us: int) -> frozenset[Pair]:
    """Two keys that come and go at times of their own, and one that is stuck."""
    keys: list[Pair] = [(2, 5)]
    if at_us % 31_000 < 14_000:
        keys.append((0, 3))
    if at_us % 7_300 < 3_700:
        keys.append((1, 4))
    return pressed(*keys)


class VirtualLink(Link):
    """`read` moves the board's time on; nothing waits."""

    url = "test:"

    def __init__(self, board: MinimalBoard) -> None:
        self.board = board
        self.board.run()

    def now_us(self) -> int:
        return self.board.now

    def write(self, data: bytes) -> None:
        self.board.receive(data)

    def read(self, timeout_s: float) -> bytes:
        until = self.board.now + round(timeout_s * 1e6)
        while not self.board.out and self.board.now < until:
            due = min(self.board.events(), default=until)
            self.board.now = max(self.board.now, min(due, until))
            self.board.run()
        data = bytes(self.board.out)
        self.board.out.clear()
        return data

    def close(self) -> None:
        """Nothing to close."""
