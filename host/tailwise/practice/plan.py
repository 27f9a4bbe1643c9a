"""Planted faults and a performance, worked out into one timeline of changes of the membrane."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from random import Random

from tailwise.model.fault import FaultKind
from tailwise.model.layout import Layout
from tailwise.practice.contacts import SOUND, ContactHealth, contact_changes
from tailwise.practice.episodes import come_and_go
from tailwise.practice.membrane import Foreign
from tailwise.practice.operator import Performance
from tailwise.practice.planted import Planted
from tailwise.practice.seating import contacts_of, reversed_tail, shifted_tail, swapped_tails
from tailwise.practice.slots import OPEN, Bridge, Change, Contact, Slot, Stretch, in_order
from tailwise.practice.times import Chatter

BEFORE_US = -1


@dataclass
class Plan:
    """What the faults make of membrane, seat and contacts, before the operator touches anything."""

    layout: Layout
    seat: dict[int, str]
    standing: dict[Slot, float] = field(default_factory=dict)
    cured: set[Slot] = field(default_factory=set)
    coming: list[tuple[Planted, tuple[Slot, ...], float]] = field(default_factory=list)
    health: dict[str, ContactHealth] = field(default_factory=dict)
    foreign: tuple[Foreign, ...] = ()
    diodes: dict[str, str] = field(default_factory=dict)

    def contact(self, key: str, **changes: object) -> None:
        """Change the condition of a key's contact."""
        self.health[key] = replace(self.health.get(key, SOUND), **changes)  # type: ignore[arg-type]

    def put(self, planted: Planted, slots: tuple[Slot, ...], ohm: float) -> None:
        """Slots that take a value, all the time or in episodes."""
        if planted.episodes is None:
            self.standing |= dict.fromkeys(slots, ohm)
        else:
            self.coming.append((planted, slots, ohm))


def _open_lines(plan: Plan, planted: Planted) -> None:
    slots = tuple(Stretch(line) for line in planted.fault.lines)
    plan.put(planted, slots, planted.ohm)
    if planted.cured_by_reseating:
        plan.cured.update(slots)


def _stretch(plan: Plan, planted: Planted) -> None:
    place = planted.fault.place
    line, before = (planted.fault.lines[0], None) if place is None else (place.line, place.before)
    first = next((stop.key for stop in (plan.layout.routes or {}).get(line, ())), None)
    slot = Stretch(line, None if before == first and (place is None or place.after is None) else before)
    plan.put(planted, (slot,), planted.ohm)


def _contact(plan: Plan, planted: Planted) -> None:
    key = planted.fault.keys[0]
    match planted.fault.kind:
        case FaultKind.DEAD_CONTACT:
            plan.contact(key, dead=True)
        case FaultKind.WEAK_CONTACT:
            plan.contact(key, ohm=planted.ohm)
        case FaultKind.BOUNCING_CONTACT:
            least = planted.bounce_ms * 1000
            chatter = Chatter(least, least * 1.3, least, least * 1.3, worn=True)
            plan.contact(key, chatter=chatter)
        case FaultKind.INTERMITTENT_CONTACT:
            plan.contact(key, miss=planted.miss, drops_per_s=planted.drops_per_s, drop_ms=planted.drop_ms)
        case _:
            plan.contact(key, stuck=planted.episodes is None)
            plan.put(planted, (Contact(key),), planted.ohm)


def _bridge(plan: Plan, planted: Planted) -> None:
    one, other = planted.fault.lines
    plan.put(planted, (Bridge(one, other),), planted.ohm)


def _tails(plan: Plan, planted: Planted) -> None:
    tail = planted.tail or ""
    if planted.way == "reversed":
        plan.seat = reversed_tail(plan.layout, plan.seat, tail)
    elif planted.way == "shifted":
        plan.seat = shifted_tail(plan.layout, plan.seat, tail, planted.by)
    else:
        plan.seat = swapped_tails(plan.layout, plan.seat, tail, planted.other_tail or "")


def _foreign(plan: Plan, planted: Planted) -> None:
    plan.foreign += tuple(Foreign(line, planted.volts, planted.ohm) for line in planted.fault.lines)


def _diode(plan: Plan, planted: Planted) -> None:
    names = {each.line or each.key for each in plan.layout.diodes}
    plan.diodes |= {name: planted.way for name in planted.fault.lines + planted.fault.keys if name in names}


def _elsewhere(plan: Plan, planted: Planted) -> None:
    """Another keyboard: the bench builds its membrane from that layout; nothing is wrong with it."""


EFFECTS: dict[FaultKind, Callable[[Plan, Planted], None]] = {
    FaultKind.OPEN_LINE: _open_lines,
    FaultKind.CRACKED_TAIL: _open_lines,
    FaultKind.INTERMITTENT_LINE: _open_lines,
    FaultKind.HARNESS_FAULT: _open_lines,
    FaultKind.BROKEN_TRACE: _stretch,
    FaultKind.WEAK_LINE: _stretch,
    FaultKind.DEAD_CONTACT: _contact,
    FaultKind.WEAK_CONTACT: _contact,
    FaultKind.BOUNCING_CONTACT: _contact,
    FaultKind.INTERMITTENT_CONTACT: _contact,
    FaultKind.STUCK_CONTACT: _contact,
    FaultKind.SHORT: _bridge,
    FaultKind.LEAK: _bridge,
    FaultKind.TAIL_MISPLACED: _tails,
    FaultKind.WRONG_LAYOUT: _elsewhere,
    FaultKind.FOREIGN_VOLTAGE: _foreign,
    FaultKind.DIODE_FAULT: _diode,
}


def make_plan(layout: Layout, seat: dict[int, str], planted: tuple[Planted, ...], health: dict[str, ContactHealth]) -> Plan:
    """All faults worked into one plan; layout, seat and contacts are those of the membrane that is really there."""
    plan = Plan(layout, dict(seat), health=dict(health))
    for each in planted:
        EFFECTS[each.fault.kind](plan, each)
    return plan


def timeline(plan: Plan, performance: Performance, random: Random) -> tuple[Change, ...]:
    """Every change of the membrane in order of time; what stands from the beginning comes first, before run time 0."""
    changes = [Change(BEFORE_US, slot, ohm) for slot, ohm in plan.standing.items()]
    changes += contact_changes(performance.fingers, plan.health, random)
    for planted, slots, ohm in plan.coming:
        assert planted.episodes is not None
        for span in come_and_go(planted.episodes, performance, random):
            for slot in slots:
                changes += [Change(span.start_us, slot, ohm), Change(span.end_us, slot, _otherwise(plan, slot))]
    for span in performance.pulled:
        for line in contacts_of(plan.layout, span.name):
            slot = Stretch(line)
            back = 0.0 if slot in plan.cured else _otherwise(plan, slot)
            changes += [Change(span.start_us, slot, OPEN), Change(span.end_us, slot, back)]
    return in_order(changes)


def _otherwise(plan: Plan, slot: Slot) -> float:
    return plan.standing.get(slot, 0.0 if isinstance(slot, Stretch) else OPEN)
