"""Which keys a closed crosspoint stands for.

One key on the crosspoint: that key. Several keys on one crosspoint cannot be told apart: a press counts for the one that
a press or hold mark names at the time, else for all of them. A key that closes several crosspoints is named where all of
them close within `TOGETHER_US` of each other and open within it; its parts are then not presses of the single keys, and
the press is told once, at the first of its crosspoints. Where only some of them close, it was not seen.
"""

from __future__ import annotations

from tailwise.model.layout import Key, Layout
from tailwise.model.mark import Deed, Mark
from tailwise.observe.presses import Closure
from tailwise.observe.reading import Duo, duo_of
from tailwise.observe.thresholds import EARLY_MARK_US, TOGETHER_US


def name_closures(closures: list[Closure], layout: Layout, marks: tuple[Mark, ...]) -> list[tuple[str, ...]]:
    """Keys of each closure, in the order of `closures`."""
    place = {line: number for number, line in enumerate(layout.lines)}
    single: dict[Duo, list[str]] = {}
    several: list[tuple[Key, tuple[Duo, ...]]] = []
    for key in layout.keys:
        duos = tuple(dict.fromkeys(duo_of(place[row], place[column]) for row, column in key.crosspoints))
        if len(duos) > 1:
            several.append((key, duos))
        elif duos:
            single.setdefault(duos[0], []).append(key.id)
    names: list[tuple[str, ...] | None] = [None] * len(closures)
    for key, duos in several:
        for group in _together(closures, duos):
            for at in group:
                names[at] = (*(names[at] or ()), key.id)
    for at, closure in enumerate(closures):
        if names[at] is None:
            keys = tuple(single.get(closure.duo, ()))
            names[at] = _marked(keys, closure, marks) if len(keys) > 1 else keys
    return [name or () for name in names]


def _together(closures: list[Closure], duos: tuple[Duo, ...]) -> list[tuple[int, ...]]:
    """Sets of closures, one for each crosspoint, that began and ended together."""
    rest = [[at for at, closure in enumerate(closures) if closure.duo == duo] for duo in duos]
    found = []
    for at in rest[0]:
        group = [at]
        for others in rest[1:]:
            group += [other for other in others if _alike(closures[at], closures[other])][:1]
        if len(group) == len(duos):
            found.append(tuple(group))
    return found


def _alike(one: Closure, other: Closure) -> bool:
    if abs(one.start_us - other.start_us) > TOGETHER_US:
        return False
    if one.end_us is None or other.end_us is None:
        return one.end_us == other.end_us
    return abs(one.end_us - other.end_us) <= TOGETHER_US


def _marked(keys: tuple[str, ...], closure: Closure, marks: tuple[Mark, ...]) -> tuple[str, ...]:
    named = None
    for mark in marks:
        if mark.at_us > closure.start_us + EARLY_MARK_US:
            break
        if mark.do in (Deed.PRESS, Deed.HOLD) and mark.key is not None:
            named = mark.key
    return (named,) if named in keys and named is not None else keys
