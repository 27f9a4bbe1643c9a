"""Frame numbers: which frame follows, which repeats, and how many are missing.

The difference d = number - last number, modulo 65536, decides: 1 follows; 0 and 32768 or more are repeated or stale
and ignored, except that three stale frames in a row which follow each other are a new beginning; anything else is a
gap of d - 1 missing frames.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

MODULUS = 1 << 16
STALE_FROM = 1 << 15
NEW_BEGINNING = 3


class Follows(Enum):
    """How a frame stands to the one before it."""

    NEXT = "next"
    REPEATED = "repeated"
    GAP = "gap"


@dataclass(slots=True)
class Numbering:
    """The last number taken and what was missed so far."""

    last: int | None = None
    lost: int = 0
    gaps: int = 0
    repeated: int = 0
    _stale: int = 0
    _stale_number: int = 0
    _reopened: bool = False

    def anew(self, number: int) -> None:
        """Numbers begin again here (BOOTED); after a link that was away that is a gap of unknown size."""
        self.gaps += self._reopened
        self.last = number
        self._stale = 0
        self._reopened = False

    def reopened(self) -> None:
        """The link was away: whatever number comes next is taken, with a gap before it."""
        self._reopened = self.last is not None
        self._stale = 0

    def take(self, number: int) -> Follows:
        """Judge the number of a good frame."""
        if self.last is None:
            self.anew(number)
            return Follows.NEXT
        step = (number - self.last) % MODULUS
        if self._reopened:
            return self._after_reopening(number, step)
        if step == 1:
            self.anew(number)
            return Follows.NEXT
        if step == 0 or step >= STALE_FROM:
            return self._stale_frame(number, step)
        return self._gap(number, step - 1)

    def _gap(self, number: int, missing: int) -> Follows:
        self.lost += missing
        self.gaps += 1
        self._reopened = False
        self.anew(number)
        return Follows.GAP

    def _after_reopening(self, number: int, step: int) -> Follows:
        self._reopened = False
        if step == 1:
            self.anew(number)
            return Follows.NEXT
        return self._gap(number, step - 1 if 0 < step < STALE_FROM else 0)

    def _stale_frame(self, number: int, step: int) -> Follows:
        follows = self._stale and number == (self._stale_number + 1) % MODULUS and step
        self._stale = self._stale + 1 if follows else int(step != 0)
        self._stale_number = number
        if self._stale >= NEW_BEGINNING:
            return self._gap(number, 0)
        self.repeated += 1
        return Follows.REPEATED
