"""A closed stretch of one pair of lines as it is being read, edge by edge."""

from __future__ import annotations

from dataclasses import dataclass, field

from tailwise.observe.reading import Status
from tailwise.observe.thresholds import BOUNCE_SPAN_US


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
    left_us: since when a pair that keys explained has been without explanation; left: the longest such stretch that has ended.
    Of a pair joined without a key: company: the other lines that were ever joined with it, as a bit mask; returns: how often
    some came after it had been alone; longest_alone_us: for how long at most it had.
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
    unexplained_us: int | None = None
    explained: bool = False
    left_us: int | None = None
    left: tuple[int, int] = (0, 0)
    status: Status | None = None
    ways: int = 0
    company: int = 0
    returns: int = 0
    alone_since_us: int | None = None
    longest_alone_us: int = 0

    def meet(self, others: int, t_us: int) -> None:
        """The lines (a bit mask) that a settled reading joins with this pair; 0: none. What bounces has not been away."""
        if not others:
            self.alone_since_us = t_us if self.alone_since_us is None else self.alone_since_us
            return
        alone_us = 0 if self.alone_since_us is None else t_us - self.alone_since_us
        if not self.company or alone_us >= BOUNCE_SPAN_US:
            self.returns += 1
        self.longest_alone_us = max(self.longest_alone_us, alone_us)
        self.alone_since_us = None
        self.company |= others

    @property
    def strange(self) -> bool:
        """No key explained it when it settled (where a pair has no key: lines joined)."""
        return self.unexplained_us is not None and not (self.veiled and self.explained)

    def settle(self, status: Status, ways: int, t_us: int) -> None:
        """A reading of this pair stood for a whole scan.

        Slow scans through bounce can miss for a while the key that explains a join: it is taken back if one shows soon.
        """
        self.settled = True
        self.status = status
        self.ways |= ways
        self.certain |= status is Status.CERTAIN
        if status is Status.UNEXPLAINED and self.unexplained_us is None and not self.explained:
            self.unexplained_us = t_us
        if status is not Status.UNEXPLAINED:
            self.left = self.longest_left(t_us)
            self.left_us = None
        elif self.explained and self.left_us is None:
            self.left_us = t_us
        if status is Status.EXPLAINED:
            self.explained = True
            if self.unexplained_us is not None and t_us - self.unexplained_us < BOUNCE_SPAN_US:
                self.unexplained_us = None

    def longest_left(self, now_us: int) -> tuple[int, int]:
        """The longest stretch without explanation of a pair that keys explained at first, up to now."""
        running = self.left if self.left_us is None else (self.left_us, now_us)
        return max(self.left, running, key=lambda span: span[1] - span[0])

    @property
    def open_since_us(self) -> int | None:
        """When it opened, None while closed."""
        if self.openings and self.openings[-1].end_us is None:
            return self.openings[-1].start_us
        return None
