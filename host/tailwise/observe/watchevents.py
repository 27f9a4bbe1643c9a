"""What the stream says of a watch: pairs of board lines observed without pause. Times are run time, microseconds."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WatchBegan:
    """A watch began; pairs are (sensed, driven) board lines, none where the host did not say."""

    t_us: int
    pairs: tuple[tuple[int, int], ...]
    switched: bool


@dataclass(frozen=True, slots=True)
class WatchCounts:
    """A WATCHED: bit i of closed: pair i reads closed; the rest counts since the watch began, for pairs 0 and 1."""

    t_us: int
    closed: int
    openings: tuple[int, int]
    open_us: tuple[int, int]
    blind_us: int
    dropped: int
    shortest_ns: int


@dataclass(frozen=True, slots=True)
class WatchedOpening:
    """One opening of one pair that has ended."""

    pair: int
    start_us: int
    length_us: int

    @property
    def end_us(self) -> int:
        """When it closed again."""
        return self.start_us + self.length_us


@dataclass(frozen=True, slots=True)
class WatchOpenings:
    """The entries of an OPENINGS."""

    entries: tuple[WatchedOpening, ...]
