"""One pair of lines over time: its drafts of presses, edge by edge.

A pair is read in two directions, at two moments of a scan. Its level is the newest reading of either: an opening or a
closing counts at its first sample and costs no scan. An opening that only one direction shows for a whole scan is no
opening but a one-way reading, and is taken back.
"""

from __future__ import annotations

from tailwise.observe.bounce import split
from tailwise.observe.drafts import Draft, Opening
from tailwise.observe.reading import Status


class Contact:
    """A pair's level, directions and drafts."""

    def __init__(self) -> None:
        self.drafts: list[Draft] = []
        self.ways = 0
        self.level = False
        self._counted = 0
        self._presses = 0
        self._drops = 0

    def tally(self, now_us: int) -> tuple[int, int]:
        """Certain presses and dropouts so far; drafts that are over are counted once."""
        while self._counted < len(self.drafts) - 1:
            presses, drops = _tally(self.drafts[self._counted], now_us)
            self._presses += presses
            self._drops += drops
            self._counted += 1
        if not self.drafts:
            return 0, 0
        presses, drops = _tally(self.drafts[-1], now_us)
        return self._presses + presses, self._drops + drops

    @property
    def current(self) -> Draft | None:
        """The newest draft, closed or only just opened."""
        return self.drafts[-1] if self.drafts else None

    def change(self, t_us: int, way: int, closed: bool, frame: int, release_us: int) -> None:
        """One direction's reading changed."""
        self.ways = self.ways | way if closed else self.ways & ~way
        self._set(t_us, closed, frame, release_us, hidden=False)

    def _set(self, t_us: int, closed: bool, frame: int, release_us: int, *, hidden: bool) -> None:
        if closed == self.level:
            return
        self.level = closed
        draft = self.current
        if not closed:
            if draft is not None:
                draft.openings.append(Opening(t_us, None, draft.status is Status.CERTAIN, hidden))
            return
        since = None if draft is None else draft.open_since_us
        if draft is None or since is None or t_us - since >= release_us:
            self.drafts.append(Draft(t_us, frame, begun_blind=hidden, veiled=hidden))
            return
        draft.openings[-1].end_us = t_us
        draft.openings[-1].hidden |= hidden

    def begin(self, t_us: int, ways: int, frame: int) -> None:
        """Closed in the first STATE."""
        self.ways, self.level = ways, True
        self.drafts.append(Draft(t_us, frame, from_start=True))

    def resume(self, start_us: int, end_us: int, ways: int, frame: int, release_us: int) -> None:
        """After a blind stretch: what it was like at its start is known, and what the STATE at its end says."""
        self.ways = ways
        draft = self.current
        if draft is not None and (draft.open_since_us is None or start_us - draft.open_since_us < release_us):
            draft.veils.append((start_us, end_us))
            draft.veiled |= not draft.settled
            if draft.open_since_us is not None:
                draft.openings[-1].hidden = True
        if self.level and not ways:
            self._set(start_us, False, frame, release_us, hidden=True)
        elif not self.level and ways:
            self._set(end_us, True, frame, release_us, hidden=True)

    def forget_strangeness(self) -> None:
        """What joined these lines without a key has turned out to be keys."""
        if self.current is not None:
            self.current.unexplained_us = None

    def settle(self, status: Status, t_us: int) -> None:
        """The reading stood for a whole scan."""
        draft = self.current
        if draft is None or not self.ways:
            return
        if not self.level:
            self.level = True
            draft.openings.pop()
        draft.settle(status, self.ways, t_us)


def _tally(draft: Draft, now_us: int) -> tuple[int, int]:
    if draft.from_start:
        return 0, 0
    return int(draft.certain), len(split(draft, now_us).dropouts) if draft.openings else 0
