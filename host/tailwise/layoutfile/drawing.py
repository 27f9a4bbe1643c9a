"""Do keys overlap on the drawing?

Keys are rectangles, rotated about their centres. Two convex shapes are apart exactly if some edge direction of one of them
separates their shadows (separating axis theorem). Lengths in key units; touching edges and SLACK are not an overlap.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

from tailwise.model.layout import Key, Position

SLACK = 0.01  # key units: rounding of a file's decimals
Point = tuple[float, float]


def overlapping(keys: Sequence[Key]) -> Iterator[tuple[Key, Key]]:
    """Every pair of keys that lie over each other, in the order of `keys`."""
    shapes = [corners(key.position) for key in keys]
    reach = [math.hypot(key.position.width, key.position.height) / 2 for key in keys]
    centres = [_centre(key.position) for key in keys]
    for second in range(len(keys)):
        for first in range(second):
            if math.dist(centres[first], centres[second]) < reach[first] + reach[second] and _meet(
                shapes[first], shapes[second]
            ):
                yield keys[first], keys[second]


def corners(place: Position) -> tuple[Point, ...]:
    """The four corners of a key, in key units."""
    x, y = _centre(place)
    cos, sin = math.cos(math.radians(place.rotation)), math.sin(math.radians(place.rotation))
    half = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    offsets = ((sx * place.width / 2, sy * place.height / 2) for sx, sy in half)
    return tuple((x + dx * cos - dy * sin, y + dx * sin + dy * cos) for dx, dy in offsets)


def _centre(place: Position) -> Point:
    return place.x + place.width / 2, place.y + place.height / 2


def _meet(one: Sequence[Point], other: Sequence[Point]) -> bool:
    for shape in (one, other):
        for (ax, ay), (bx, by) in itertools.pairwise(shape):
            length = math.hypot(bx - ax, by - ay)
            axis = ((bx - ax) / length, (by - ay) / length)
            spans = [[px * axis[0] + py * axis[1] for px, py in points] for points in (one, other)]
            if min(max(spans[0]) - min(spans[1]), max(spans[1]) - min(spans[0])) <= SLACK:
                return False
    return True
