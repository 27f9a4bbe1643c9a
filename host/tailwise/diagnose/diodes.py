"""Diodes that conduct the wrong way or both ways: told from the direction in which closures were read.

Idea: a pair is read twice, once with either line driven low. Through a line's diode that conducts towards the tail the
line can pull others down, never be pulled; so readings with another line driven and this one sensed mean a shorted diode
where the other direction reads too, and a diode the wrong way round where it does not. An open diode looks like an open line
and is named among its rivals. Where most of the diodes seem the wrong way round, it is the layout that is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tailwise.diagnose.components import Components
from tailwise.diagnose.priors import Priors
from tailwise.model.fault import Fault, FaultKind
from tailwise.model.observation import Observations

WRONG_WAY_READINGS = 2
MANY = 3


@dataclass(frozen=True, slots=True)
class DiodeClaim:
    """A diode fault, whether the diode conducts both ways, and how often each way was read."""

    fault: Fault
    chance: float
    both_ways: bool
    right_way: int
    wrong_way: int


def find_diode_faults(observations: Observations, parts: Components, priors: Priors) -> tuple[DiodeClaim, ...]:
    """Diodes that let a wrong direction through; a wrong layout where that holds for most of them."""
    found = (*_on_lines(observations, parts, priors), *_on_keys(observations, parts, priors))
    backwards = [claim for claim in found if not claim.both_ways]
    if len(backwards) >= MANY and 2 * len(backwards) > len(parts.layout.diodes):
        lines = tuple(sorted({line for claim in backwards for line in claim.fault.lines}))
        right, wrong = sum(each.right_way for each in backwards), sum(each.wrong_way for each in backwards)
        return (DiodeClaim(Fault(FaultKind.WRONG_LAYOUT, lines), 0.9, False, right, wrong),)
    return found


def _on_lines(observations: Observations, parts: Components, priors: Priors) -> Iterator[DiodeClaim]:
    for line, way in parts.line_diodes.items():
        driven = sum(count for (one, other), count in observations.closures.items() if one == line and other != line)
        sensed = sum(count for (one, other), count in observations.closures.items() if other == line and one != line)
        right, wrong = (driven, sensed) if way == "to_tail" else (sensed, driven)
        keys = tuple(sorted(parts.layout.keys_on[line]))
        yield from _claim(Fault(FaultKind.DIODE_FAULT, (line,), keys), right, wrong, priors)


def _on_keys(observations: Observations, parts: Components, priors: Priors) -> Iterator[DiodeClaim]:
    for key_id, cathode in parts.key_diodes.items():
        key = parts.layout.key_by_id[key_id]
        if key.row is None or key.column is None:
            continue
        low, high = (key.row, key.column) if cathode == "row" else (key.column, key.row)
        right = observations.closures.get((low, high), 0)
        wrong = observations.closures.get((high, low), 0)
        yield from _claim(Fault(FaultKind.DIODE_FAULT, (low,), (key_id,)), right, wrong, priors)


def _claim(fault: Fault, right: int, wrong: int, priors: Priors) -> Iterator[DiodeClaim]:
    if wrong < WRONG_WAY_READINGS:
        return
    both = right > 0
    chance = 0.97 if both else 1.0 - priors.wrong_layout / (priors.wrong_layout + priors.diode_backwards * 10)
    yield DiodeClaim(fault, chance, both, right, wrong)
