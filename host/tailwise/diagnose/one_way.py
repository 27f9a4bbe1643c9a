"""A pin of the harness that drives but does not sense, or senses but does not drive.

Idea: a board that scans both ways reads every key twice. Where all keys of one line answer in one direction only while other
lines answer in both, and no diode explains it, the fault is not on the film, which does not know directions: it is the
harness's pin, or a diode the layout does not know.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tailwise.diagnose.components import Components
from tailwise.model.fault import Fault, FaultKind
from tailwise.model.observation import Observations, Press

LEAST_PRESSES = 3
CHANCE = 0.7
DIODE_CHANCE = 0.25


@dataclass(frozen=True, slots=True)
class OneWayClaim:
    """A line that was only ever driven or only ever sensed, with the presses that show it."""

    fault: Fault
    chance: float
    rival: tuple[Fault, float]
    presses: tuple[Press, ...]
    driven: bool


def find_one_way(observations: Observations, parts: Components) -> Iterator[OneWayClaim]:
    """Every line without a diode whose keys all read in one direction, where most other presses read in both."""
    both = sum(1 for press in observations.presses if press.certain and press.one_way is None)
    for line in parts.layout.lines:
        presses = [press for press in observations.presses if press.certain and press.key in parts.layout.keys_on[line]]
        if len({press.key for press in presses}) < LEAST_PRESSES or both < len(presses):
            continue
        pairs = [press.one_way for press in presses]
        crossing = {name for press in presses for point in parts.layout.key_by_id[press.key].crosspoints for name in point}
        if crossing & parts.line_diodes.keys() or any(press.key in parts.key_diodes for press in presses):
            continue
        for place in (0, 1):
            if all(pair is not None and pair[place] == line for pair in pairs):
                keys = tuple(sorted(parts.layout.keys_on[line]))
                rival = (Fault(FaultKind.DIODE_FAULT, (line,), keys), DIODE_CHANCE)
                yield OneWayClaim(Fault(FaultKind.HARNESS_FAULT, (line,)), CHANCE, rival, tuple(presses), place == 0)
