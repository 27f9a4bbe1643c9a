"""One watch of the virtual board: openings become OPENINGS and the whole counts of WATCHED.

Where openings come faster than the line carries them, single entries are dropped and counted; WATCHED still counts them
whole. Times are microseconds of the bench.
"""

from __future__ import annotations

from collections.abc import Callable

from tailwise.practice.matrixrun import Clock, Counts, Emit
from tailwise.practice.watcher import POLL_US, Opened, Watcher
from tailwise.wire.messages import Openings, Watched
from tailwise.wire.payload import Opening

WATCHED_US = 20_000
FLUSH_US = 10_000
ENTRIES_A_FRAME = 20
BEHIND_US = 20_000


class WatchRun:
    """From START with mode watch to STOP. `behind` says how far the line lags at a time, in microseconds."""

    def __init__(self, watcher: Watcher, emit: Emit, clock: Clock, behind: Callable[[int], int]) -> None:
        self._watcher = watcher
        self._emit = emit
        self._clock = clock
        self._behind = behind
        self._waiting: list[Opened] = []
        self._flush_us = 0
        self._dropped = 0
        self._watched_us = watcher.start_us + POLL_US

    def next_us(self) -> int:
        """When `run_to` has something to do next."""
        return min(self._watched_us, self._flush_us) if self._waiting else self._watched_us

    def run_to(self, at_us: int) -> None:
        """Do what is due at this time."""
        if self._waiting and self._flush_us <= at_us:
            self._flush(at_us)
        if self._watched_us <= at_us:
            self._send_watched(at_us)

    def membrane_changed(self, at_us: int) -> None:
        """The membrane is otherwise from this time on."""
        for opened in self._watcher.change(at_us):
            if self._behind(at_us) > BEHIND_US:
                self._dropped += 1
                continue
            if not self._waiting:
                self._flush_us = at_us + FLUSH_US
            self._waiting.append(opened)
            if len(self._waiting) == ENTRIES_A_FRAME:
                self._flush(at_us)

    def stop(self, at_us: int) -> None:
        """What was seen before still leaves."""
        if self._waiting:
            self._flush(at_us)
        self._send_watched(at_us)

    def counts(self, at_us: int) -> Counts:
        """A watch scans nothing."""
        return 0, 0, 0

    def _flush(self, at_us: int) -> None:
        entries = tuple(Opening(each.pair, self._clock(each.start_us), each.length_us) for each in self._waiting)
        self._waiting.clear()
        self._emit(at_us, Openings(entries))

    def _send_watched(self, at_us: int) -> None:
        self._watched_us = at_us + WATCHED_US
        counts = [(pair.openings, pair.open_us) for pair in self._watcher.pairs]
        (first, open_first), (second, open_second) = (*counts, (0, 0))[:2]
        self._emit(
            at_us,
            Watched(
                clock=self._clock(at_us),
                closed=self._watcher.closed_bits(at_us),
                openings_first=first,
                open_first=open_first,
                openings_second=second,
                open_second=open_second,
                blind=0,
                dropped=self._dropped,
                shortest_ns=POLL_US * 1000,
            ),
        )
