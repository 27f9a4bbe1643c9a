"""From fingers to contacts: what the contact of a key does while a finger is on it."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from tailwise.practice.operator import Finger
from tailwise.practice.slots import OPEN, Change, Contact
from tailwise.practice.times import SOUND_CHATTER, Chatter


@dataclass(frozen=True, slots=True)
class ContactHealth:
    """The condition of one contact.

    ohm: closed resistance. dead: never closes. miss: chance that a press does not close it. drops_per_s: openings
    while held, each of drop_ms (shortest, longest) milliseconds.
    """

    ohm: float = 30.0
    dead: bool = False
    stuck: bool = False
    chatter: Chatter = SOUND_CHATTER
    miss: float = 0.0
    drops_per_s: float = 0.0
    drop_ms: tuple[float, float] = (3.0, 30.0)


SOUND = ContactHealth()
_SETTLED_US = 15_000
_CLEAR_US = 12_000


def contact_changes(fingers: list[Finger], health: dict[str, ContactHealth], random: Random) -> list[Change]:
    """Closures and openings of every pressed key, bounce included."""
    changes: list[Change] = []
    for finger in fingers:
        state = health.get(finger.key, SOUND)
        if state.dead or state.stuck or (state.miss and random.random() < state.miss):
            continue
        slot = Contact(finger.key)

        def put(at_us: int, closed: bool, slot: Contact = slot, ohm: float = state.ohm) -> None:
            changes.append(Change(at_us, slot, ohm if closed else OPEN))

        put(finger.down_us, True)
        make = state.chatter.make(random)
        for index, offset in enumerate(make):
            put(finger.down_us + offset, bool(index % 2))
        for start, end in _drops(finger, state, random):
            put(start, False)
            put(end, True)
        put(finger.up_us, False)
        for index, offset in enumerate(state.chatter.release(random)):
            put(finger.up_us + offset, not index % 2)
    return changes


def _drops(finger: Finger, state: ContactHealth, random: Random) -> list[tuple[int, int]]:
    """Openings while the key is held, clear of make and break bounce."""
    drops: list[tuple[int, int]] = []
    if not state.drops_per_s:
        return drops
    at = finger.down_us + _SETTLED_US
    while True:
        at += round(random.expovariate(state.drops_per_s) * 1e6)
        end = at + round(1000 * random.uniform(*state.drop_ms))
        if end > finger.up_us - _CLEAR_US:
            return drops
        drops.append((at, end))
        at = end + 1000
