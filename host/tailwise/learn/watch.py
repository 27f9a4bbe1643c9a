"""Presses on an unknown keyboard: what closed beyond the rest, from first contact to last release.

A press begins when something reads closed that did not at rest and ends when only the rest has been read for 40 ms
(longer than the bounce of a polyester dome, 20 ms by makers' figures). Its pairs are those closed for at least a
third of the time of the longest-closed one, so that bounce, skew within a scan and a neighbour that was brushed do
not count. A press with a blind stretch in it is unknown and reported as such, never as silence.
"""

from __future__ import annotations

from dataclasses import dataclass

from tailwise.harness.wiring import plain_wiring
from tailwise.learn.bare import bare_layout
from tailwise.learn.sighting import BoardPair
from tailwise.observe.matrix import Matrix, Rows, Step
from tailwise.observe.stream import Stream
from tailwise.recording.format import Record

REST_US = 2_000_000
QUIET_US = 40_000
SHARE = 1 / 3


@dataclass(frozen=True, slots=True)
class SeenPress:
    """One press: run time in microseconds, pairs of board lines as (driven, sensed); known False after a blind stretch."""

    start_us: int
    end_us: int
    pairs: frozenset[BoardPair]
    known: bool = True


class PressWatch:
    """Feed it every record; it gives the presses that have ended."""

    def __init__(self, lines: int) -> None:
        layout = bare_layout(lines)
        self._matrix = Matrix(layout, plain_wiring(layout))
        self._stream = Stream()
        self._rows: Rows = (0,) * lines
        self._rest: Rows | None = None
        self._since: dict[BoardPair, int] = {}
        self._closed_us: dict[BoardPair, int] = {}
        self._start_us: int | None = None
        self._quiet_from: int | None = None
        self._known = True

    @property
    def resting(self) -> bool:
        """Whether the rest check still runs: nothing counts as a press yet."""
        return self._rest is None

    @property
    def joined_at_rest(self) -> frozenset[frozenset[int]]:
        """Board lines that read joined with nothing pressed."""
        return frozenset(frozenset((d, s)) for d, row in enumerate(self._rest or ()) for s in _bits(row))

    def feed(self, record: Record) -> list[SeenPress]:
        """Presses that this record ends."""
        ended: list[SeenPress] = []
        for event in self._stream.feed(record):
            if self._stream.identity is not None:
                self._matrix.set_line_count(self._stream.identity.line_count)
            step = self._matrix.feed(event)
            if step is not None:
                ended += self._step(step)
        return ended

    def _step(self, step: Step) -> list[SeenPress]:
        ended = []
        rows = list(self._rows)
        for change in step.changes:
            ended += self._advance(change.t_us)
            if change.closed:
                rows[change.driven] |= 1 << change.sensed
            else:
                rows[change.driven] &= ~(1 << change.sensed)
            self._become(tuple(rows), change.t_us)
        if step.blind is not None:
            self._known = False
            self._become(step.rows, step.t_us)
        ended += self._advance(step.t_us)
        if step.first or step.rows != self._rows:
            self._become(step.rows, step.t_us)
        return ended

    def _advance(self, t_us: int) -> list[SeenPress]:
        if self._rest is None and t_us >= REST_US:
            self._rest = self._rows
        if self._start_us is None or self._quiet_from is None or t_us - self._quiet_from < QUIET_US:
            return []
        longest = max(self._closed_us.values(), default=0)
        pairs = frozenset(pair for pair, closed in self._closed_us.items() if closed >= longest * SHARE)
        press = SeenPress(self._start_us, self._quiet_from, pairs, self._known)
        self._closed_us.clear()
        self._start_us = self._quiet_from = None
        self._known = True
        return [press]

    def _become(self, rows: Rows, t_us: int) -> None:
        self._rows = rows
        if self._rest is None:
            return
        now = {(d, s) for d, row in enumerate(rows) for s in _bits(row & ~self._rest[d])}
        for pair in now - self._since.keys():
            self._since[pair] = t_us
        for pair in self._since.keys() - now:
            self._closed_us[pair] = self._closed_us.get(pair, 0) + t_us - self._since.pop(pair)
        if now:
            self._quiet_from = None
            if self._start_us is None:
                self._start_us = t_us
        elif self._start_us is not None and self._quiet_from is None:
            self._quiet_from = t_us


def _bits(row: int) -> list[int]:
    return [bit for bit in range(row.bit_length()) if row >> bit & 1]
