"""Witness keys: which keys to hold so that what opens tells who is to blame, and what to watch through them.

Theory. Two held keys that share only one line lose it at the same instant; anything else on their way opens one of them
alone. Each partner line is sensed and the shared line driven: a board senses every line once. To tell the row of a key
from its column, one key on the row and one on the column are held instead of it, away from each other: two loops, one with
the row alone, one with the column alone, neither with the key's own contact; each suspect is sensed, since a sensed line
whose tail opens has little to charge and its edge is fast. Farthest keys first: a loop watches a route only up to its key.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from tailwise.model.layout import Layout
from tailwise.model.observation import Pair
from tailwise.procedure.holdset import farness
from tailwise.procedure.order import along_route

NEARLY_AS_FAR = 3
"""Among so many of the farthest keys the second one is chosen."""


@dataclass(frozen=True, slots=True)
class Witnesses:
    """Keys to hold and the pairs (sensed, driven) to watch through them."""

    keys: tuple[str, ...]
    pairs: tuple[Pair, ...]


def witnesses(layout: Layout, line: str, working: Collection[str] = (), held: Collection[str] = ()) -> Witnesses:
    """Two keys that share only this line, farthest along it; those already held first, then those known to work.

    The second is the one whose partner a crack from an edge of the tail is least likely to take together with the first's.
    """
    far = [key for key in reversed(along_route(layout, line)) if _plain(layout, key)]
    order = sorted(far, key=lambda key: (key not in held, bool(working) and key not in working))
    chosen = order[:1]
    others = [key for key in order[1:] if _partner(layout, key, line) != _partner(layout, order[0], line)]
    ready = [key for key in others if key in held] or others
    if ready:
        first = _partner(layout, order[0], line)
        near = ready[:NEARLY_AS_FAR]
        chosen.append(max(near, key=lambda key: (_crack(layout, first, _partner(layout, key, line)), -near.index(key))))
    return Witnesses(tuple(chosen), pairs_of(layout, line, chosen))


def pairs_of(layout: Layout, line: str, keys: Collection[str]) -> tuple[Pair, ...]:
    """What to watch through one or two held keys of a line: the line sensed through one, both partners sensed through two."""
    partners = list(dict.fromkeys(_partner(layout, key, line) for key in keys if _plain(layout, key)))[:2]
    if len(partners) == 1:
        return ((line, partners[0]),)
    return tuple((partner, line) for partner in partners)


def separating(layout: Layout, key: str, without: Collection[str] = ()) -> Witnesses | None:
    """Two keys that tell a key's row, its column and its contact apart; None where the layout has none.

    If the first opens, it is the row; if the second, the column; if neither, the contact. without: keys not to use.
    """
    row, column = layout.key_by_id[key].crosspoints[0]
    far = farness(layout)
    usable = [each.id for each in layout.keys if _plain(layout, each.id) and each.id not in (*without, key)]
    on_row = [each for each in usable if row in layout.key_by_id[each].crosspoints[0]]
    on_column = [each for each in usable if column in layout.key_by_id[each].crosspoints[0]]
    found = [
        (far[one] + far[two], one, two)
        for one in on_row
        for two in on_column
        if not set(layout.key_by_id[one].crosspoints[0]) & set(layout.key_by_id[two].crosspoints[0])
    ]
    if not found:
        return None
    _, one, two = max(found)
    return Witnesses((one, two), ((row, _partner(layout, one, row)), (column, _partner(layout, two, column))))


def _crack(layout: Layout, one: str, other: str) -> int:
    """How many lines a crack from an edge of the tail must take to reach both; more than there are where none does."""
    for tail in layout.tails or ():
        if one in tail.lines and other in tail.lines:
            places = sorted((tail.lines.index(one), tail.lines.index(other)))
            return min(places[1] + 1, len(tail.lines) - places[0])
    return len(layout.lines)


def _plain(layout: Layout, key: str) -> bool:
    return len(layout.key_by_id[key].crosspoints) == 1


def _partner(layout: Layout, key: str, line: str) -> str:
    one, two = layout.key_by_id[key].crosspoints[0]
    return two if one == line else one
