"""The simulated board with someone at the keyboard: contacts and marks on a script that begins at the acknowledged START."""

from __future__ import annotations

from dataclasses import dataclass, field

from tailwise.harness.wiring import plain_wiring
from tailwise.link.base import LinkEnded
from tailwise.model.layout import Layout
from tailwise.model.mark import Mark
from tailwise.wire.messages import Ack, Start
from tests.simboard.board import SimBoard

CONTACT_OHM = 120.0


@dataclass(frozen=True, slots=True)
class Join:
    """Two lines of the layout joined from one run time to another, microseconds."""

    line: str
    other: str
    from_us: int
    to_us: int


@dataclass(frozen=True)
class Script:
    """What happens at the keyboard, in run time; the run ends at end_us."""

    joins: tuple[Join, ...]
    end_us: int
    marks: tuple[Mark, ...] = field(default=())


def pressed(layout: Layout, key: str, from_us: int, to_us: int) -> Join:
    """A key held down."""
    row, column = layout.key_by_id[key].crosspoints[0]
    return Join(row, column, from_us, to_us)


class ScriptedBoard(SimBoard):
    """The real image, a membrane without bounce, and the script."""

    def __init__(self, layout: Layout, script: Script) -> None:
        super().__init__()
        self._board_line = plain_wiring(layout).board_line
        self._script = script
        self._zero_us: int | None = None
        self._looked = 0
        self._left = sorted(script.marks, key=lambda mark: mark.at_us)

    def read(self, timeout_s: float) -> bytes:
        """As the board's; LinkEnded when the script is over."""
        if self._zero_us is not None and self.now_us() >= self._zero_us + self._script.end_us:
            raise LinkEnded
        data = super().read(timeout_s)
        if self._zero_us is None:
            for _, frame in self.arrivals[self._looked :]:
                message = frame.message()
                if isinstance(message, Ack) and message.command_type == Start.TYPE:
                    self._begin(self.now_us())
            self._looked = len(self.arrivals)
        return data

    def take_marks(self) -> list[Mark]:
        """Marks whose time has come."""
        now = None if self._zero_us is None else self.now_us() - self._zero_us
        due = [mark for mark in self._left if now is not None and mark.at_us <= now]
        self._left = self._left[len(due) :]
        return due

    def _begin(self, zero_us: int) -> None:
        self._zero_us = zero_us
        for join in self._script.joins:
            line, other = self._board_line[join.line], self._board_line[join.other]
            self.press(line, other, zero_us + join.from_us, zero_us + join.to_us, CONTACT_OHM)
