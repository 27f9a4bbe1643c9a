"""A closed stretch of one pair of lines as it is being read, edge by edge."""

from __future__ import annotations

from dataclasses import dataclass, field

from tailwise.observe.reading import Status


@dataclass(slots=True)
class Opening:
    """Open from start_us to end_us (None: not closed again). sure: the pair was certain before it.

    hidden: part of it was blind, so its ends are not known and it accuses nothing.
    """

    start_us: int
    end_us: int | None
    sure: bool
    hidden: bool = False


@dataclass(slots=True)
class Draft:
    """One closed stretch of a pair with the short openings in it; a press if a key lies there.

    from_start: closed in the very first STATE. veiled: it began in a blind stretch, or one came before it was settled, so
    that what explained it at first may have been missed. veils: blind stretches inside it. settled: stood for a whole
    scan at least once. ways: directions closed in any settled reading (bit 0: lower line driven, bit 1: higher line driven).
    """

    start_us: int
    frame: int
    from_start: bool = False
    begun_blind: bool = False
    veiled: bool = False
    openings: list[Opening] = field(default_factory=list)
    veils: list[tuple[int, int]] = field(default_factory=list)
    settled: bool = False
    certain: bool = False
    unexplained: bool = False
    explained: bool = False
    status: Status | None = None
    ways: int = 0

    @property
    def strange(self) -> bool:
        """No key explained it when it settled (where a pair has no key: lines joined)."""
        return self.unexplained and not (self.veiled and self.explained)

    @property
    def open_since_us(self) -> int | None:
        """When it opened, None while closed."""
        if self.openings and self.openings[-1].end_us is None:
            return self.openings[-1].start_us
        return None
