"""The benchmark's classes: what is planted, what the operator does about it, and what counts as right."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random

from tailwise.model.fault import Fault, FaultKind, Steadiness
from tailwise.model.layout import Layout
from tailwise.practice.operator import Flex, Hold, Press, Release, Step, Still
from tailwise.practice.planted import Episodes, Planted
from tests.bench.diagnosis_truth import break_fault, crack_fault, line_fault, path

Planting = Callable[[Layout, Random], Planted]

FLEX_S = 6.0
FLICKER = Episodes(zone="fold", per_s_flexed=2.0, open_ms=(20.0, 200.0))
SHORT_OHM = (2.0, 300.0)
LEAK_OHM = (9000.0, 13500.0)
CHECKED_LINES = 16
"""the reference board checks so many lines for a foreign voltage"""
NEAR = 0.7
"""share of shorts and leaks between neighbours on a tail"""


@dataclass(frozen=True)
class Case:
    """One class: its name and how its fault is planted."""

    name: str
    plant: Planting


def open_line(layout: Layout, chance: Random) -> Planted:
    """One line open at its socket or tail."""
    return Planted(line_fault(layout, chance.choice(layout.lines)))


def harness_fault(layout: Layout, chance: Random) -> Planted:
    """A lead that is off."""
    return Planted(line_fault(layout, chance.choice(layout.lines), FaultKind.HARNESS_FAULT))


def cracked_tail(layout: Layout, chance: Random) -> Planted:
    """Two to four lines from one edge of a tail."""
    return Planted(crack_fault(layout, _edge(layout, chance)))


def broken_trace(layout: Layout, chance: Random) -> Planted:
    """One stretch between two crosspoints."""
    line = chance.choice(layout.lines)
    stops = (layout.routes or {})[line]
    return Planted(break_fault(layout, line, chance.choice(stops[1:]).key))


def dead_contact(layout: Layout, chance: Random) -> Planted:
    """One key."""
    return Planted(Fault(FaultKind.DEAD_CONTACT, (), (chance.choice(layout.keys).id,)))


def short(layout: Layout, chance: Random) -> Planted:
    """Two lines that no key joins, neighbours more often than not."""
    return Planted(Fault(FaultKind.SHORT, _pair(layout, chance)), ohm=chance.uniform(*SHORT_OHM))


def leak(layout: Layout, chance: Random) -> Planted:
    """Two lines joined through some kilohms, visible lines only."""
    return Planted(Fault(FaultKind.LEAK, _pair(layout, chance, seen_at_rest=True)), ohm=chance.uniform(*LEAK_OHM))


def stuck_contact(layout: Layout, chance: Random) -> Planted:
    """One key that never opens."""
    key = chance.choice(layout.keys)
    assert key.row is not None and key.column is not None
    fault = Fault(FaultKind.STUCK_CONTACT, tuple(sorted((key.row, key.column))), (key.id,))
    return Planted(fault, ohm=chance.uniform(10.0, 200.0))


def bouncing_contact(layout: Layout, chance: Random) -> Planted:
    """One key that chatters for 30 ms or more."""
    fault = Fault(FaultKind.BOUNCING_CONTACT, (), (chance.choice(layout.keys).id,))
    return Planted(fault, bounce_ms=chance.uniform(30.0, 40.0))


def intermittent_line(layout: Layout, chance: Random) -> Planted:
    """A line that drops out while the fold is flexed."""
    line = chance.choice(layout.lines)
    steady = line_fault(layout, line)
    return Planted(_flickering(steady, FaultKind.INTERMITTENT_LINE), episodes=FLICKER)


def intermittent_crack(layout: Layout, chance: Random) -> Planted:
    """Adjacent lines that drop out together."""
    return Planted(_flickering(crack_fault(layout, _edge(layout, chance)), FaultKind.INTERMITTENT_LINE), episodes=FLICKER)


def intermittent_trace(layout: Layout, chance: Random) -> Planted:
    """A stretch that drops out, at least two keys beyond it."""
    while True:
        fault = broken_trace(layout, chance).fault
        if len(fault.keys) >= 2:
            return Planted(_flickering(fault, FaultKind.BROKEN_TRACE), episodes=FLICKER)


def intermittent_contact(layout: Layout, chance: Random) -> Planted:
    """One key that stutters while held."""
    fault = Fault(FaultKind.INTERMITTENT_CONTACT, (), (chance.choice(layout.keys).id,), None, Steadiness.INTERMITTENT)
    return Planted(fault, drops_per_s=1.0, drop_ms=(3.0, 30.0))


def tail_misplaced(layout: Layout, chance: Random) -> Planted:
    """A tail reversed, shifted by one, or both tails swapped."""
    tails = layout.tails or ()
    tail = chance.choice(tails)
    way = chance.choice(("reversed", "shifted", "swapped"))
    lines = tail.lines
    if way == "reversed":
        moved = {line for line, other in zip(lines, reversed(lines), strict=True) if line != other}
    else:
        moved = set(lines) if way == "shifted" else {line for each in tails for line in each.lines}
    fault = Fault(FaultKind.TAIL_MISPLACED, tuple(sorted(moved)))
    other = next(each.name for each in tails if each.name != tail.name)
    return Planted(fault, way=way, by=chance.choice((1, -1)), tail=tail.name, other_tail=other)


def diode_fault(layout: Layout, chance: Random) -> Planted:
    """A diode that blocks both ways, neither way or the wrong way; an open line where the layout has no diode."""
    lines = [diode.line for diode in layout.diodes if diode.line is not None]
    if not lines:
        return open_line(layout, chance)
    line = chance.choice(lines)
    keys = tuple(sorted(layout.keys_on[line]))
    return Planted(Fault(FaultKind.DIODE_FAULT, (line,), keys), way=chance.choice(("open", "shorted", "reversed")))


def foreign_voltage(layout: Layout, chance: Random) -> Planted:
    """A line held from outside, among those the board can check; a row's diode hides a low level behind it."""
    line = chance.choice(layout.harness_order[:CHECKED_LINES])
    blocks = any(diode.line == line for diode in layout.diodes)
    volts = 5.0 if blocks else chance.choice((0.0, 5.0))
    return Planted(Fault(FaultKind.FOREIGN_VOLTAGE, (line,)), ohm=1000.0, volts=volts)


def other_keyboard(layout: Layout, chance: Random) -> Layout:
    """A keyboard with the same keys and lines, every key at another crosspoint."""
    points = [(key.row, key.column) for key in layout.keys]
    chance.shuffle(points)
    keys = tuple(replace(key, row=row, column=column) for key, (row, column) in zip(layout.keys, points, strict=True))
    return replace(layout, id=f"other-{layout.id}", keys=keys, routes=None)


STEADY = (
    Case("open_line", open_line),
    Case("harness_fault", harness_fault),
    Case("cracked_tail", cracked_tail),
    Case("broken_trace", broken_trace),
    Case("dead_contact", dead_contact),
    Case("short", short),
    Case("leak", leak),
    Case("stuck_contact", stuck_contact),
    Case("bouncing_contact", bouncing_contact),
    Case("tail_misplaced", tail_misplaced),
    Case("diode_fault", diode_fault),
    Case("foreign_voltage", foreign_voltage),
)
FLICKERING = (
    Case("intermittent_line", intermittent_line),
    Case("intermittent crack", intermittent_crack),
    Case("intermittent trace", intermittent_trace),
    Case("intermittent_contact", intermittent_contact),
)
PAIRED = (open_line, cracked_tail, broken_trace, dead_contact, short, stuck_contact)


def watch(layout: Layout, planted: Planted, chance: Random) -> tuple[Step, ...]:
    """Witness keys held while the film is left alone and flexed; more presses of a key that bounces."""
    fault = planted.fault
    if fault.kind is FaultKind.BOUNCING_CONTACT:
        return (Press(fault.keys, times=4),)
    if planted.episodes is None and fault.kind is not FaultKind.INTERMITTENT_CONTACT:
        return ()
    steps: list[Step] = []
    for keys in _witnesses(layout, fault, chance):
        steps += [Hold(keys), Still(1.0), Flex("fold", FLEX_S), Still(0.5), Release()]
    return tuple(steps)


def _witnesses(layout: Layout, fault: Fault, chance: Random) -> list[tuple[str, ...]]:
    """Pairs of keys that share one line only: of the accused line, and across it."""
    if fault.kind is FaultKind.INTERMITTENT_CONTACT:
        key = layout.key_by_id[fault.keys[0]]
        assert key.row is not None and key.column is not None
        return [(key.id, _other(layout, line, (key.id,), chance)) for line in (key.row, key.column)]
    if fault.kind is FaultKind.BROKEN_TRACE and fault.place is not None:
        line = fault.place.line
        edge, last = fault.place.before or "", max(fault.keys, key=lambda key: len(path(layout, line, key)))
        near = fault.place.after or _other(layout, line, fault.keys, chance)
        return [(edge, near), (last, near)] if edge != last else [(edge, near), (fault.keys[0], near)]
    if len(fault.lines) == 1:
        keys = list(layout.keys_on[fault.lines[0]])
        chance.shuffle(keys)
        return [(keys[0], keys[1]), (keys[2], keys[3])]
    return [_across(layout, fault.lines, chance), _across(layout, fault.lines, chance)]


def _across(layout: Layout, lines: tuple[str, ...], chance: Random) -> tuple[str, ...]:
    """A key of each line, no two on one crossing line, and one key of a line that is whole."""
    taken: set[str] = set()
    chosen: list[str] = []
    tail = next(each.lines for each in layout.tails or () if lines[0] in each.lines)
    whole = next((line for line in tail if line not in lines and _next_to(tail, line, lines)), None)
    for line in (*lines, *(() if whole is None else (whole,))):
        keys = [key for key in layout.keys_on[line] if not taken & _lines_of(layout, key)]
        if keys:
            key = chance.choice(keys)
            taken |= _lines_of(layout, key)
            chosen.append(key)
    return tuple(chosen)


def _next_to(tail: tuple[str, ...], line: str, lines: tuple[str, ...]) -> bool:
    place = tail.index(line)
    return any(abs(tail.index(other) - place) == 1 for other in lines)


def _lines_of(layout: Layout, key: str) -> set[str]:
    return {line for point in layout.key_by_id[key].crosspoints for line in point}


def _other(layout: Layout, line: str, but: tuple[str, ...], chance: Random) -> str:
    return chance.choice([key for key in layout.keys_on[line] if key not in but])


def _flickering(fault: Fault, kind: FaultKind) -> Fault:
    return Fault(kind, fault.lines, fault.keys, fault.place, Steadiness.INTERMITTENT)


def _edge(layout: Layout, chance: Random) -> tuple[str, ...]:
    tail = chance.choice(layout.tails or ())
    count = chance.choice((2, 2, 3, 4))
    return tail.lines[:count] if chance.random() < 0.5 else tail.lines[-count:]


def _pair(layout: Layout, chance: Random, *, seen_at_rest: bool = False) -> tuple[str, ...]:
    with_diode = {diode.line for diode in layout.diodes}
    while True:
        if chance.random() < NEAR:
            tail = chance.choice(layout.tails or ()).lines
            place = chance.randrange(len(tail) - 1)
            pair = {tail[place], tail[place + 1]}
        else:
            pair = set(chance.sample(layout.lines, 2))
        hidden = seen_at_rest and bool(pair & with_diode)
        if frozenset(pair) not in layout.keys_at and not hidden:
            return tuple(sorted(pair))
