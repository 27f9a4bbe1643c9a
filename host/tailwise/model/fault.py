"""What can be wrong with a keyboard, named as the findings name it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class FaultKind(StrEnum):
    """Kinds of fault, in the words of the findings document."""

    OPEN_LINE = "open_line"
    CRACKED_TAIL = "cracked_tail"
    BROKEN_TRACE = "broken_trace"
    DEAD_CONTACT = "dead_contact"
    WEAK_CONTACT = "weak_contact"
    WEAK_LINE = "weak_line"
    BOUNCING_CONTACT = "bouncing_contact"
    SHORT = "short"
    LEAK = "leak"
    STUCK_CONTACT = "stuck_contact"
    INTERMITTENT_LINE = "intermittent_line"
    INTERMITTENT_CONTACT = "intermittent_contact"
    TAIL_MISPLACED = "tail_misplaced"
    WRONG_LAYOUT = "wrong_layout"
    DIODE_FAULT = "diode_fault"
    FOREIGN_VOLTAGE = "foreign_voltage"
    HARNESS_FAULT = "harness_fault"


class Steadiness(StrEnum):
    """Whether a fault is there all the time."""

    STEADY = "steady"
    INTERMITTENT = "intermittent"


@dataclass(frozen=True, slots=True)
class Place:
    """A stretch of one line's route: beyond `after` (a key, None for the tail), up to `before` (a key, None: nothing)."""

    line: str
    after: str | None
    before: str | None


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault as a finding names it; lines and keys sorted by code point."""

    kind: FaultKind
    lines: tuple[str, ...] = ()
    keys: tuple[str, ...] = ()
    place: Place | None = None
    steadiness: Steadiness = Steadiness.STEADY

    @property
    def sort_key(self) -> tuple[str, tuple[str, ...], tuple[str, ...], tuple[str, str, str]]:
        """The order of findings: kind, lines, keys; the place last, so that rivals of one name have an order too."""
        place = self.place
        return (
            self.kind.value,
            self.lines,
            self.keys,
            ("", "", "") if place is None else (place.line, place.after or "", place.before or ""),
        )
