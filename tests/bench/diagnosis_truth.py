"""The truth side: which keys a set of cuts silences, found by walking the routes, and which faults no press tells apart.

It shares no code with the engine: a key closes when every stretch from either tail to it is whole and its contact is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tailwise.model.fault import Fault, FaultKind, Place
from tailwise.model.layout import Layout

CUTS = frozenset(
    {FaultKind.OPEN_LINE, FaultKind.CRACKED_TAIL, FaultKind.BROKEN_TRACE, FaultKind.DEAD_CONTACT, FaultKind.HARNESS_FAULT}
)
JOINS = frozenset({FaultKind.SHORT, FaultKind.LEAK, FaultKind.STUCK_CONTACT})


def path(layout: Layout, line: str, key: str) -> list[str]:
    """Keys of a route from the tail to a key."""
    origin = {stop.key: stop.origin for stop in (layout.routes or {}).get(line, ())}
    steps: list[str] = []
    at: str | None = key
    while at is not None and len(steps) <= len(origin):
        steps.insert(0, at)
        at = origin.get(at)
    return steps


def silenced(layout: Layout, faults: Iterable[Fault]) -> frozenset[str]:
    """Keys that cannot close while these cuts are there."""
    lost: set[str] = set()
    for fault in faults:
        if fault.kind is FaultKind.DEAD_CONTACT:
            lost.update(fault.keys)
        elif fault.kind is FaultKind.BROKEN_TRACE and fault.place is not None and fault.place.before is not None:
            line, before = fault.place.line, fault.place.before
            lost.update(key for key in layout.keys_on[line] if before in path(layout, line, key))
        elif fault.kind in CUTS or fault.kind is FaultKind.DIODE_FAULT:
            lost.update(key for line in fault.lines for key in layout.keys_on[line])
    return frozenset(lost)


def line_fault(layout: Layout, line: str, kind: FaultKind = FaultKind.OPEN_LINE) -> Fault:
    """A whole line as findings name it."""
    if kind is FaultKind.HARNESS_FAULT:
        return Fault(kind, (line,))
    stops = (layout.routes or {}).get(line, ())
    place = Place(line, None, stops[0].key) if stops else None
    return Fault(kind, (line,), tuple(sorted(layout.keys_on[line])), place)


def crack_fault(layout: Layout, lines: tuple[str, ...], kind: FaultKind = FaultKind.CRACKED_TAIL) -> Fault:
    """Several lines of one tail edge as findings name them."""
    keys = {key for line in lines for key in layout.keys_on[line]}
    return Fault(kind, tuple(sorted(lines)), tuple(sorted(keys)))


def break_fault(layout: Layout, line: str, before: str) -> Fault:
    """A broken stretch as findings name it; the first one of a line is an open line."""
    origin = {stop.key: stop.origin for stop in (layout.routes or {})[line]}[before]
    if origin is None:
        return line_fault(layout, line)
    keys = tuple(sorted(key for key in layout.keys_on[line] if before in path(layout, line, key)))
    return Fault(FaultKind.BROKEN_TRACE, (line,), keys, Place(line, origin, before))


def every_cut(layout: Layout) -> Iterator[Fault]:
    """Every single steady cut there can be."""
    for line in layout.lines:
        yield line_fault(layout, line)
        yield line_fault(layout, line, FaultKind.HARNESS_FAULT)
        for stop in (layout.routes or {}).get(line, ())[1:]:
            yield break_fault(layout, line, stop.key)
    for tail in layout.tails or ():
        for count in range(2, len(tail.lines) + 1):
            yield crack_fault(layout, tail.lines[:count])
            yield crack_fault(layout, tail.lines[-count:])
    for diode in layout.diodes:
        if diode.line is not None:
            yield Fault(FaultKind.DIODE_FAULT, (diode.line,), tuple(sorted(layout.keys_on[diode.line])))
    for key in layout.keys:
        yield Fault(FaultKind.DEAD_CONTACT, (), (key.id,))


def same_to_every_press(layout: Layout, truth: Fault, tried: frozenset[str]) -> frozenset[Fault]:
    """The single cuts that silence exactly what the truth silences among the keys tried."""
    lost = silenced(layout, (truth,)) & tried
    return frozenset(fault for fault in every_cut(layout) if silenced(layout, (fault,)) & tried == lost)
