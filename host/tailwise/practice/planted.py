"""A fault put into the membrane on purpose: what a finding should call it, and what it does to the circuit."""

from __future__ import annotations

from dataclasses import dataclass

from tailwise.model.fault import Fault
from tailwise.practice.slots import OPEN


@dataclass(frozen=True, slots=True)
class Episodes:
    """How often something comes and goes: episodes per second while its zone is flexed and otherwise, from start_s of
    run time on.

    An episode is `openings` (fewest, most) openings, each of open_ms (shortest, longest) milliseconds, drawn evenly on a
    logarithmic scale, with gap_ms between them.
    """

    zone: str | None = None
    per_s_flexed: float = 3.0
    per_s_still: float = 0.0
    open_ms: tuple[float, float] = (20.0, 200.0)
    openings: tuple[int, int] = (1, 1)
    gap_ms: tuple[float, float] = (0.2, 20.0)
    start_s: float = 2.0


@dataclass(frozen=True, slots=True)
class Planted:
    """One planted fault: its name in the model's vocabulary, and its parameters (each kind uses its own).

    ohm: added or bridging resistance. episodes: comes and goes instead of being there all the time. miss: chance that
    a press does not close the contact. drops_per_s, drop_ms: openings while held. bounce_ms: least make and break bounce.
    way: reversed, shifted or swapped for tails; open, shorted or reversed for diodes. by: contacts shifted. tail, other_tail:
    tails concerned. cured_by_reseating: a line that comes back once its tail was reseated. volts: a voltage from
    outside.
    """

    fault: Fault
    ohm: float = OPEN
    episodes: Episodes | None = None
    miss: float = 0.0
    drops_per_s: float = 0.0
    drop_ms: tuple[float, float] = (3.0, 30.0)
    bounce_ms: float = 0.0
    way: str = ""
    by: int = 0
    tail: str | None = None
    other_tail: str | None = None
    volts: float = 5.0
    cured_by_reseating: bool = False
