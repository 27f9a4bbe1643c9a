"""What every way to a board offers: the serial port, the practice bench, a replay, the simulated board in lock step."""

from __future__ import annotations

from abc import ABC, abstractmethod

from tailwise.model.mark import Mark


class LinkLost(Exception):
    """The link broke (unplugged, board gone); one type for everything a port can raise. `reopen` may bring it back."""


class LinkEnded(Exception):
    """A practice scenario or a replay has come to its end; nothing is wrong."""


class LinkRefused(Exception):
    """The port could not be opened: reason, likely cause and the next step, ready for a person to read."""

    def __init__(self, reason: str, likely: str, next_step: str) -> None:
        super().__init__(f"{reason}. Likely cause: {likely}. Next step: {next_step}")
        self.reason = reason
        self.likely = likely
        self.next_step = next_step


class Link(ABC):
    """Bytes to and from a board.

    Time is the link's own: `now_us` is monotonic microseconds since opening, real on a port, virtual on the practice
    bench and in a replay, where `read` moves it on and nothing waits.
    """

    url: str = ""
    replays: bool = False

    @abstractmethod
    def now_us(self) -> int:
        """Microseconds since the link was opened."""

    @abstractmethod
    def write(self, data: bytes) -> None:
        """Send bytes; LinkLost where the link is gone."""

    @abstractmethod
    def read(self, timeout_s: float) -> bytes:
        """Bytes that came, as soon as there are any, or b"" after the timeout.

        LinkLost where the link is gone, LinkEnded at the end of a scenario or replay.
        """

    @abstractmethod
    def close(self) -> None:
        """Close; never raises."""

    def reopen(self) -> bool:
        """Try once to open the same board again after LinkLost; False where it is not (yet) there."""
        return False

    def take_marks(self) -> list[Mark]:
        """Marks the other side made since the last call (practice operator, replay); a port has none."""
        return []
