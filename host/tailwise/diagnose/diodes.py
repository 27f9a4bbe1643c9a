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
from tailwise.model.observation import Observations, Pair, Press

WRONG_WAY_READINGS = 2
WHOLE_PRESS_US = 30_000
"""one press of a key with its own diode shows it where it reads the wrong way for as long (presses last 80 ms and more)"""
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
        whole = any(_whole(press, (high, low)) for press in observations.presses if press.key == key_id)
        yield from _claim(
            Fault(FaultKind.DIODE_FAULT, (low,), (key_id,)), right, wrong, priors, 1 if whole else WRONG_WAY_READINGS
        )


def _whole(press: Press, wrong: Pair) -> bool:
    """True for a certain press, as long as presses are, that read closed in the direction its diode should block."""
    length = 0 if press.end_us is None else press.end_us - press.start_us
    return press.certain and length >= WHOLE_PRESS_US and press.one_way in (None, wrong)


def _claim(fault: Fault, right: int, wrong: int, priors: Priors, least: int = WRONG_WAY_READINGS) -> Iterator[DiodeClaim]:
    if wrong < least:
        return
    both = right > 0
    chance = 0.97 if both else 1.0 - priors.wrong_layout / (priors.wrong_layout + priors.diode_backwards * 10)
    yield DiodeClaim(fault, chance, both, right, wrong)
