"""Single faults, each with the keys it silences and its odds: what explanations are built from.

Idea: a hypothesis predicts. A steady one silences its keys in every trial; an intermittent one now and then, all of them
that are held at the same instant. Faults that no observation can ever tell apart (the first stretch of a chain and the
tail before it) are one hypothesis, as the table of kinds has them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from tailwise.diagnose.components import Components
from tailwise.diagnose.priors import Priors
from tailwise.model.fault import Fault, FaultKind, Place, Steadiness


class Rule(StrEnum):
    """Parts of the engine that a benchmark can switch off to show that they carry weight."""

    OPEN_LINES = "open-lines"
    CRACKS = "cracks"
    STRETCHES = "stretches"
    CONTACTS = "contacts"
    INTERMITTENT = "intermittent"
    JOINED = "joined"
    STUCK = "stuck"
    MAPPING = "mapping"
    DIODES = "diodes"
    BOUNCE = "bounce"
    MISSES = "misses"
    CLEARED = "cleared"
    SEVERAL = "several"
    HELD = "held-lines"
    HARNESS = "harness"
    LEAKS = "leaks"
    OTHER_KEYBOARD = "other-keyboard"


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One fault, the keys it silences, and its odds before the evidence; `members` where it stands for several."""

    fault: Fault
    silences: int
    odds: float
    steady: bool = True
    members: tuple[Hypothesis, ...] = ()


def odds(chance: float) -> float:
    """Odds of a chance."""
    return chance / (1.0 - chance)


def all_hypotheses(parts: Components, priors: Priors, off: frozenset[Rule] = frozenset()) -> tuple[Hypothesis, ...]:
    """Every single fault that can silence keys, steady and intermittent, in the layout's order."""
    found: list[Hypothesis] = []
    if Rule.OPEN_LINES not in off:
        found.extend(_lines(parts, priors, with_harness=Rule.HARNESS not in off))
    if Rule.CRACKS not in off:
        found.extend(_cracks(parts, priors))
    if Rule.STRETCHES not in off:
        found.extend(_stretches(parts, priors))
    if Rule.CONTACTS not in off:
        found.extend(_contacts(parts, priors))
    return tuple(each for each in found if each.steady or Rule.INTERMITTENT not in off)


def first_key(parts: Components, line: str) -> str | None:
    """The only key next to the tail on a line's route; None where the route is unknown or forks at the tail."""
    first = [stretch.key for stretch in parts.stretches[line] if stretch.origin is None]
    return first[0] if len(first) == 1 else None


def line_place(parts: Components, line: str) -> Place | None:
    """The place of a fault before a line's first crosspoint; None where the route is unknown."""
    stretches = parts.stretches[line]
    if not stretches:
        return None
    return Place(line, None, first_key(parts, line) or stretches[0].key)


def _lines(parts: Components, priors: Priors, *, with_harness: bool) -> Iterator[Hypothesis]:
    for line, keys in parts.on_line.items():
        if not keys:
            continue
        ids = tuple(sorted(parts.layout.keys_on[line]))
        place = line_place(parts, line)
        first = priors.broken_stretch if first_key(parts, line) else 0.0
        yield Hypothesis(Fault(FaultKind.OPEN_LINE, (line,), ids, place), keys, odds(priors.open_line + first))
        if with_harness:
            yield Hypothesis(Fault(FaultKind.HARNESS_FAULT, (line,)), keys, odds(priors.harness_lead))
        if line in parts.line_diodes:
            yield Hypothesis(Fault(FaultKind.DIODE_FAULT, (line,), ids), keys, odds(priors.diode_open))
        flicker = Fault(FaultKind.INTERMITTENT_LINE, (line,), ids, place, Steadiness.INTERMITTENT)
        yield Hypothesis(flicker, keys, odds(priors.intermittent_line), steady=False)


def _cracks(parts: Components, priors: Priors) -> Iterator[Hypothesis]:
    share = 1.0 - priors.crack_growth
    for edge in parts.edges:
        keys = 0
        named: set[str] = set()
        for line in edge.lines:
            keys |= parts.on_line[line]
            named.update(parts.layout.keys_on[line])
        ids = tuple(sorted(named))
        lines = tuple(sorted(edge.lines))
        size = share * priors.crack_growth ** (len(edge.lines) - 2)
        yield Hypothesis(Fault(FaultKind.CRACKED_TAIL, lines, ids), keys, odds(priors.cracked_edge * size))
        flicker = Fault(FaultKind.INTERMITTENT_LINE, lines, ids, None, Steadiness.INTERMITTENT)
        yield Hypothesis(flicker, keys, odds(priors.intermittent_crack * size), steady=False)


def _stretches(parts: Components, priors: Priors) -> Iterator[Hypothesis]:
    for line, stretches in parts.stretches.items():
        sole = first_key(parts, line)
        for stretch in stretches:
            if stretch.origin is None and stretch.key == sole:
                continue
            if not stretch.beyond:
                continue
            place = Place(line, stretch.origin, stretch.key)
            ids = parts.ids(stretch.beyond)
            steady = Fault(FaultKind.BROKEN_TRACE, (line,), ids, place)
            yield Hypothesis(steady, stretch.beyond, odds(priors.broken_stretch))
            flicker = Fault(FaultKind.BROKEN_TRACE, (line,), ids, place, Steadiness.INTERMITTENT)
            yield Hypothesis(flicker, stretch.beyond, odds(priors.intermittent_stretch), steady=False)


def _contacts(parts: Components, priors: Priors) -> Iterator[Hypothesis]:
    for key in parts.layout.keys:
        if not key.crosspoints:
            continue
        bit = parts.bit[key.id]
        yield Hypothesis(Fault(FaultKind.DEAD_CONTACT, (), (key.id,)), bit, odds(priors.dead_contact))
        if key.id in parts.key_diodes and key.row is not None:
            diode = Fault(FaultKind.DIODE_FAULT, (key.row,), (key.id,))
            yield Hypothesis(diode, bit, odds(priors.diode_open))
        flicker = Fault(FaultKind.INTERMITTENT_CONTACT, (), (key.id,), None, Steadiness.INTERMITTENT)
        yield Hypothesis(flicker, bit, odds(priors.intermittent_contact), steady=False)


def breaks_of_unknown_routes(parts: Components, silent: int, seen: int, priors: Priors) -> Iterator[Hypothesis]:
    """For each line without a route a break that loses exactly its silent keys, in an order nobody knows.

    With n keys in a random order the silent m are its far end in one order of "n over m", and the break is one of n.
    """
    for line, keys in parts.on_line.items():
        lost = keys & silent
        if parts.stretches[line] or not lost or not keys & seen:
            continue
        count = keys.bit_count()
        chance = priors.broken_stretch / math.comb(count, lost.bit_count())
        yield Hypothesis(Fault(FaultKind.BROKEN_TRACE, (line,), parts.ids(lost)), lost, odds(chance))
