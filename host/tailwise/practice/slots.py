"""The places of a membrane whose resistance changes, and the changes: the one language of operator, faults and membrane."""

from __future__ import annotations

import math
from dataclasses import dataclass

OPEN = math.inf
"""Ohms of something that does not conduct."""


@dataclass(frozen=True, slots=True)
class Contact:
    """The contact of one key; open unless stated."""

    key: str


@dataclass(frozen=True, slots=True)
class Stretch:
    """Added ohms in one stretch of a line: the one that leads up to a key's crosspoint, or (key None) tail and socket."""

    line: str
    key: str | None = None


@dataclass(frozen=True, slots=True)
class Bridge:
    """Something between two lines that should not be there, at the tail end of both; open unless stated."""

    line: str
    other: str


Slot = Contact | Stretch | Bridge


@dataclass(frozen=True, slots=True)
class Change:
    """At a run time (microseconds since the acknowledged start) a slot takes a value in ohms."""

    at_us: int
    slot: Slot
    ohm: float


def at_rest(slot: Slot) -> float:
    """The value a slot has when nothing is said about it."""
    return 0.0 if isinstance(slot, Stretch) else OPEN


def in_order(changes: list[Change]) -> tuple[Change, ...]:
    """Sorted by time; changes of one instant keep their order."""
    return tuple(sorted(changes, key=lambda each: each.at_us))
