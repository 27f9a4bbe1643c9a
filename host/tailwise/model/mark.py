"""What the operator did and when."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Deed(StrEnum):
    """What a mark says was done."""

    PRESS = "press"
    HOLD = "hold"
    RELEASE = "release"
    FLEX = "flex"
    STILL = "still"
    RESEAT = "reseat"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark: `at_us` is the board's time since the acknowledged start, in microseconds.

    press: this key was pressed once before the next mark; hold and release: a key; flex: a zone (until the next
    flex, still or reseat); reseat: may name a tail; note: free text.
    """

    at_us: int
    do: Deed
    key: str | None = None
    zone: str | None = None
    tail: str | None = None
    text: str | None = None
