"""Which lines are rows and which are columns: the bipartite structure of the contacts.

Idea. In a matrix every contact joins a row and a column, so the graph of lines (nodes) and contacts (edges) has two
sides. A graph has two sides exactly when it has no odd cycle (König). Lines that make an odd cycle, such as a common
line some keys are wired to alone, are set aside as single lines. Each connected part has its own two sides; which of
the two are rows is a naming: the side with the lowest board line. Parts that share no line are oriented by board
lines that stand next to each other, which is a guess and marked as such.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass

Edge = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Sides:
    """Board lines sorted by their part in the matrix. guessed: lines of parts whose orientation is a guess."""

    rows: tuple[int, ...]
    columns: tuple[int, ...]
    singles: tuple[int, ...]
    guessed: tuple[int, ...] = ()


def two_sides(edges: Iterable[Edge]) -> list[tuple[set[int], set[int]]] | None:
    """The two sides of each connected part, the side with the lowest line first; None where an odd cycle forbids it."""
    near: dict[int, set[int]] = {}
    for a, b in edges:
        if a == b:
            return None
        near.setdefault(a, set()).add(b)
        near.setdefault(b, set()).add(a)
    side: dict[int, int] = {}
    parts = []
    for start in sorted(near):
        if start in side:
            continue
        side[start] = 0
        part: tuple[set[int], set[int]] = ({start}, set())
        waiting = deque([start])
        while waiting:
            line = waiting.popleft()
            for other in near[line]:
                if other not in side:
                    side[other] = 1 - side[line]
                    part[side[other]].add(other)
                    waiting.append(other)
                elif side[other] == side[line]:
                    return None
        parts.append(part)
    return parts


def find_sides(edges: Iterable[Edge]) -> Sides:
    """Rows, columns and single lines of these contacts, by setting aside as few lines as makes the rest two-sided."""
    left = sorted(set(edges))
    singles: list[int] = []
    while (parts := two_sides(left)) is None:
        lines = sorted({line for edge in left for line in edge})
        cures = [line for line in lines if two_sides([edge for edge in left if line not in edge]) is not None]
        degree = {line: sum(line in edge for edge in left) for line in lines}
        aside = (
            min(cures, key=lambda line: (degree[line], line)) if cures else max(lines, key=lambda line: (degree[line], -line))
        )
        singles.append(aside)
        left = [edge for edge in left if aside not in edge]
    rows: set[int] = set()
    columns: set[int] = set()
    guessed: set[int] = set()
    for number, (first, second) in enumerate(sorted(parts, key=lambda part: -len(part[0] | part[1]))):
        if number:
            guessed |= first | second
            as_is = _neighbours(first, rows) + _neighbours(second, columns)
            turned = _neighbours(second, rows) + _neighbours(first, columns)
            if turned > as_is:
                first, second = second, first
        rows |= first
        columns |= second
    return Sides(tuple(sorted(rows)), tuple(sorted(columns)), tuple(sorted(singles)), tuple(sorted(guessed)))


def _neighbours(lines: set[int], side: set[int]) -> int:
    return sum((line + step) in side for line in lines for step in (-1, 1))
