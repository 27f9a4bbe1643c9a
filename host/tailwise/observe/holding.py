"""Which keys the marks say are held."""

from __future__ import annotations

from collections.abc import Iterable

from tailwise.model.mark import Deed, Mark


def held_at(marks: Iterable[Mark], at_us: int) -> frozenset[str]:
    """Keys held at a time of the run, by marks in the order of time; a release without a key lets go of all."""
    held: set[str] = set()
    for mark in marks:
        if mark.at_us > at_us:
            break
        if mark.do is Deed.HOLD and mark.key is not None:
            held.add(mark.key)
        elif mark.do is Deed.RELEASE:
            held = held - {mark.key} if mark.key is not None else set()
    return frozenset(held)
