"""Lines whose routes run side by side on one sheet: where a crease, a spill or growth between traces can join them.

Theory. Rows are printed on one sheet, columns on the other, so only lines of one sheet can meet along their routes. A route
is drawn as straight pieces between the centres of its keys; two lines lie as far apart as their nearest pieces, in key
units (19 mm between keys as a rule, common practice). Real traces bend between the keys, so that is an estimate: within
`SIDE_BY_SIDE_UNITS` lines count as neighbours, and the keys at the nearest spot say where to look.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from tailwise.model.layout import Layout

SIDE_BY_SIDE_UNITS = 1.3
"""one row of keys apart, staggered rows included"""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Nearest:
    """Where two routes come closest: the distance in key units, and a key of either line next to that spot."""

    units: float
    keys: tuple[str, str]


def side_by_side(layout: Layout, one: str, two: str) -> Nearest | None:
    """Where two lines of one sheet pass within `SIDE_BY_SIDE_UNITS`; None where they do not, or their routes are not known."""
    if not any({one, two} <= set(sheet) for sheet in (layout.rows, layout.columns)):
        return None
    spots = (
        Nearest(_apart(*mine, *theirs), (key, other))
        for mine, key in _pieces(layout, one)
        for theirs, other in _pieces(layout, two)
    )
    nearest = min(spots, key=lambda spot: (spot.units, spot.keys), default=None)
    return nearest if nearest is not None and nearest.units <= SIDE_BY_SIDE_UNITS else None


def _pieces(layout: Layout, line: str) -> Iterator[tuple[tuple[Point, Point], str]]:
    """Straight pieces of a route with the key at their far end; where it leaves the tail, the key itself."""
    for stop in (layout.routes or {}).get(line, ()):
        here = _centre(layout, stop.key)
        yield (here if stop.origin is None else _centre(layout, stop.origin), here), stop.key


def _centre(layout: Layout, key: str) -> Point:
    position = layout.key_by_id[key].position
    return (position.x + position.width / 2, position.y + position.height / 2)


def _apart(a: Point, b: Point, c: Point, d: Point) -> float:
    """The shortest way between two straight pieces; 0 where they cross."""
    if _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0:
        return 0.0
    return min(_to_piece(a, c, d), _to_piece(b, c, d), _to_piece(c, a, b), _to_piece(d, a, b))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _to_piece(point: Point, start: Point, end: Point) -> float:
    along = (end[0] - start[0], end[1] - start[1])
    length = along[0] ** 2 + along[1] ** 2
    part = 0.0
    if length > 0:
        part = ((point[0] - start[0]) * along[0] + (point[1] - start[1]) * along[1]) / length
    part = min(1.0, max(0.0, part))
    return math.dist(point, (start[0] + part * along[0], start[1] + part * along[1]))
