"""What a stage wants after a sight or a command: marks for the recording, sounds for the ear."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from tailwise.model.mark import Mark


class Sound(StrEnum):
    """Things worth hearing while the eyes are on the film."""

    DROP = "drop"
    PRESS = "press"
    JOINED = "joined"
    STEP = "step"


class Command(StrEnum):
    """What the operator can say with one key."""

    NEXT = "next"
    NOTHING = "nothing"
    SKIP = "skip"
    BACK = "back"
    IT_WAS = "it_was"
    CONTROL = "control"
    RESEAT = "reseat"


@dataclass(frozen=True, slots=True)
class Outcome:
    """Marks to write, in order, and sounds to make."""

    marks: tuple[Mark, ...] = ()
    sounds: tuple[Sound, ...] = ()

    def __add__(self, other: Outcome) -> Outcome:
        return Outcome(self.marks + other.marks, self.sounds + other.sounds)


QUIET = Outcome()
"""Nothing to write, nothing to hear."""
