"""The hold-down set: the fewest keys, far along their routes, that put every line in a loop without closing a rectangle.

Theory. Keys are edges between lines. Keys that touch every line are an edge cover; the smallest one takes a largest matching
and one more key for every line it leaves out: |lines| - |matching| keys (Gallai 1959, from memory). Each of its parts is a
star, because a chain of three keys could do without its middle one; three corners of a rectangle are such a chain, so a
smallest cover never closes one, and every held key is read for certain. Among smallest covers the keys farthest along
their routes win: a loop watches a route only from the tail to its key. With f(e) from 0 (at the tail) to 2 (at both ends) and
m(v) the best key of a line, a cover gains

    sum of m(v) over all lines + sum over the matching of f(uv) - m(u) - m(v)

so the matching is the heaviest of the largest under f(uv) - m(u) - m(v).
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from tailwise.model.layout import Layout
from tailwise.procedure.matching import heaviest_matching
from tailwise.procedure.order import along_route


@dataclass(frozen=True, slots=True)
class HoldSet:
    """Keys to hold, in the layout's order, and the lines that no single key of the layout can put in a loop."""

    keys: tuple[str, ...]
    uncovered: tuple[str, ...]


def hold_set(layout: Layout, without: Collection[str] = ()) -> HoldSet:
    """The keys to hold down while both hands flex. without: keys that cannot be held, dead ones for instance."""
    far = farness(layout)
    key_at: dict[tuple[str, str], str] = {}
    for key in layout.keys:
        if len(key.crosspoints) != 1 or key.id in without:
            continue
        point = key.crosspoints[0]
        if point not in key_at or far[key.id] > far[key_at[point]]:
            key_at[point] = key.id
    points_on: dict[str, list[tuple[str, str]]] = {}
    for point in key_at:
        for line in point:
            points_on.setdefault(line, []).append(point)
    best = {line: max(points, key=lambda point: (far[key_at[point]], point)) for line, points in points_on.items()}
    most = {line: far[key_at[point]] for line, point in best.items()}
    matching = heaviest_matching({(one, two): far[key] - most[one] - most[two] for (one, two), key in key_at.items()})
    reached = {line for point in matching for line in point}
    points = matching | {best[line] for line in points_on if line not in reached}
    chosen = {key_at[point] for point in points}
    return HoldSet(
        tuple(key.id for key in layout.keys if key.id in chosen), tuple(line for line in layout.lines if line not in points_on)
    )


def farness(layout: Layout) -> dict[str, float]:
    """How far along both its lines' routes a key stands: the sum of two shares, each 0 at the tail to 1 at the far end."""
    share: dict[tuple[str, str], float] = {}
    for line in layout.lines:
        order = along_route(layout, line)
        if line in (layout.routes or {}):
            share |= {(line, key): (at + 1) / len(order) for at, key in enumerate(order)}
    return {
        key.id: sum(share.get((line, key.id), 0.0) for point in key.crosspoints[:1] for line in point) for key in layout.keys
    }
