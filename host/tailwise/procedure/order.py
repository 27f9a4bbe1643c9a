"""Which key to ask for next, and which keys to hold while a line is watched.

A walk that follows the eye is fastest: rows of the drawing from top to bottom, each from left to right. A line is watched
from its tail to the farthest key held on it, so the keys farthest along its route are the ones to hold; two keys on one
line share only that line and close no rectangle (common practice: witness keys).
"""

from __future__ import annotations

from tailwise.model.layout import Key, Layout

ROW_TOLERANCE = 0.5
"""Keys whose tops differ by less than this many key units stand in one row of the drawing."""


def reading_order(layout: Layout) -> tuple[str, ...]:
    """Ids of every key that a line reaches, row by row of the drawing."""
    wired = sorted((key for key in layout.keys if key.crosspoints), key=lambda key: (key.position.y, key.position.x))
    rows: list[list[Key]] = []
    for key in wired:
        if rows and key.position.y - rows[-1][0].position.y < ROW_TOLERANCE:
            rows[-1].append(key)
        else:
            rows.append([key])
    return tuple(key.id for row in rows for key in sorted(row, key=lambda key: (key.position.x, key.position.y)))


def twins(layout: Layout, key: str) -> frozenset[str]:
    """Other keys that close a crosspoint of this key too: they cannot be told from it by reading."""
    points = {frozenset(point) for point in layout.key_by_id[key].crosspoints}
    return frozenset(other for point in points for other in layout.keys_at[point]) - {key}


def along_route(layout: Layout, line: str) -> tuple[str, ...]:
    """The line's keys from the tail outwards, by millimetres where the route has them, else by stops; file order without."""
    stops = (layout.routes or {}).get(line)
    if not stops:
        return layout.keys_on.get(line, ())
    known = all(stop.mm is not None for stop in stops)
    distance: dict[str, float] = {}
    for stop in stops:
        before = 0.0 if stop.origin is None else distance.get(stop.origin, 0.0)
        distance[stop.key] = before + (stop.mm or 0.0 if known else 1.0)
    return tuple(sorted(distance, key=lambda key: distance[key]))
