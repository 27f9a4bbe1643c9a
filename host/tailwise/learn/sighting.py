"""What one press of one asked-for key showed: pairs of board lines, in either direction of drive."""

from __future__ import annotations

from dataclasses import dataclass

BoardPair = tuple[int, int]
"""(driven board line, sensed board line)."""


@dataclass(frozen=True, slots=True)
class Sighting:
    """The pairs that read closed while the key was down and were open before; empty: nothing was read."""

    key: str
    pairs: frozenset[BoardPair]

    @property
    def joints(self) -> frozenset[frozenset[int]]:
        """The pairs without their direction."""
        return frozenset(frozenset(pair) for pair in self.pairs)


@dataclass(frozen=True, slots=True)
class Joint:
    """One contact between two board lines; directions holds each (driven, sensed) in which it was read."""

    lines: tuple[int, int]
    directions: frozenset[BoardPair]

    @property
    def one_way(self) -> BoardPair | None:
        """The only direction it conducts in, None where it conducts in both."""
        return next(iter(self.directions)) if len(self.directions) == 1 else None
