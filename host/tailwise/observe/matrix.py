"""From events to steps that can be relied on: transitions between two STATEs, confirmed by the second.

Transitions are held back until a STATE agrees with them. If it does not agree, or the board counts dropped transitions,
the whole stretch since the STATE before is blind; if frames are missing, the stretch from the last thing known before
the gap is. The matrix then is what the STATE says.

The matrix is one integer for each line, driven: bit s is set where line s (position in `Layout.lines`) read low.
"""

from __future__ import annotations

from dataclasses import dataclass

from tailwise.harness.wiring import Wiring
from tailwise.model.layout import Layout
from tailwise.observe.stream import Began, Broke, Changes, Event, Scanned, Why
from tailwise.observe.watchevents import WatchBegan
from tailwise.words import judge as words

Rows = tuple[int, ...]

_WORDS = {
    Why.FRAMES_LOST: words.BLIND_FRAMES,
    Why.LINK_LOST: words.BLIND_LINK,
    Why.RESTART: words.BLIND_RESTART,
}
_CLOCK_JUMP_US = 100_000
"""Clocks this far behind what is known are of another time. After a gap any clock behind is: a repeated STATE is old."""


@dataclass(frozen=True, slots=True)
class Change:
    """One reading that changed: run time, lines by position, new reading, number of its frame."""

    t_us: int
    driven: int
    sensed: int
    closed: bool
    frame: int


@dataclass(frozen=True, slots=True)
class Step:
    """What one STATE confirmed.

    changes: in order of time, to be applied to the matrix before. blind: start, end and why, if part of the step was
    not seen; then `rows` replaces the matrix at its end. t_us: run time of the STATE. first: the first STATE of all.
    """

    t_us: int
    frame: int
    rows: Rows
    changes: tuple[Change, ...] = ()
    blind: tuple[int, int, str] | None = None
    first: bool = False


class Matrix:
    """The matrix as confirmed, and the transitions that wait for the next STATE."""

    def __init__(self, layout: Layout, wiring: Wiring) -> None:
        self._line_of = {wiring.board_line[line]: place for place, line in enumerate(layout.lines)}
        self._wired = tuple(sorted(self._line_of))
        self._count = len(layout.lines)
        self.rows: Rows = (0,) * self._count
        self.directions: frozenset[tuple[int, int]] = frozenset()
        self.odd_states: list[str] = []
        self._driven: tuple[int, ...] = self._wired
        self._board_lines: int | None = None
        self._told = False
        self._sampled: Rows = (0,) * self._count
        self._sampling((), None)
        self._begun = False
        self._valid = False
        self._known_us = 0
        self._state_us = 0
        self._dropped = 0
        self._raw = b""
        self._waiting: list[Change] = []
        self._broken: Why | None = None
        self._watched = False
        self._broken_at = 0

    def _sampling(self, driven: tuple[int, ...] | None, sensed: frozenset[int] | None) -> None:
        self._told = bool(driven)
        self._driven = driven or self._wired
        heard = frozenset(self._wired) if not driven or sensed is None else sensed
        rows = [0] * self._count
        for drive in self._driven:
            if drive in self._line_of:
                for sense in self._wired:
                    if sense != drive and sense in heard:
                        rows[self._line_of[drive]] |= 1 << self._line_of[sense]
        self._sampled = tuple(rows)
        self.directions = frozenset((d, s) for d in range(self._count) for s in range(self._count) if rows[d] >> s & 1)

    def set_line_count(self, lines: int) -> None:
        """The board's number of lines, from its identity."""
        self._board_lines = lines

    def now(self) -> Rows:
        """The matrix with the waiting transitions applied: for a live picture, not for judging."""
        if not self._waiting:
            return self.rows
        rows = list(self.rows)
        _apply(rows, self._waiting)
        return tuple(rows)

    def feed(self, event: Event) -> Step | None:
        """The step this event confirms, if any."""
        match event:
            case Began():
                self._sampling(event.driven or (), event.sensed)
                if not self._begun:
                    self._known_us = self._state_us = event.t_us
                self._dropped = 0
                self._raw = b""
            case WatchBegan():
                self._watched = not self._valid
            case Broke():
                self._break(event.why)
            case Changes():
                self._take(event)
            case Scanned():
                return self._state(event)
        return None

    def _break(self, why: Why) -> None:
        if self._valid:
            self._valid = False
            self._broken = why
            self._broken_at = self._known_us

    def _take(self, event: Changes) -> None:
        if not self._valid:
            return
        for t_us, driven, sensed, closed in event.entries:
            if t_us < self._known_us - _CLOCK_JUMP_US:
                self._break(Why.FRAMES_LOST)
                return
            drive, sense = self._line_of.get(driven), self._line_of.get(sensed)
            self._known_us = max(self._known_us, t_us)
            if drive is not None and sense is not None and self._sampled[drive] >> sense & 1:
                self._waiting.append(Change(self._known_us, drive, sense, closed, event.number))

    def _state(self, event: Scanned) -> Step | None:
        if self._begun and event.t_us < self._known_us - (_CLOCK_JUMP_US if self._valid else 0):
            self._break(Why.FRAMES_LOST)
            return None
        rows = self._rows(event.closed)
        if rows is None:
            self._break(Why.FRAMES_LOST)
            return None
        t_us = max(event.t_us, self._known_us)
        grew = event.dropped > self._dropped and self._raw != b""
        blind: tuple[int, int, str] | None = None
        changes = tuple(self._waiting)
        if not self._begun:
            changes = ()
        elif grew:
            changes, blind = (), (self._state_us, t_us, words.BLIND_DROPPED)
        elif not self._valid:
            why = words.BLIND_WATCH if self._watched else _WORDS[self._broken or Why.FRAMES_LOST]
            blind = (self._broken_at, t_us, why)
        elif changes or rows != self.rows:
            expected = list(self.rows)
            _apply(expected, changes)
            if tuple(expected) != rows:
                changes, blind = (), (self._state_us, t_us, words.BLIND_CONTRADICTION)
        first = not self._begun
        self.rows = rows
        self._waiting.clear()
        self._begun = self._valid = True
        self._broken = None
        self._watched = False
        self._dropped = event.dropped
        self._raw = event.closed
        self._known_us = self._state_us = t_us
        return Step(t_us, event.number, rows, changes, blind, first)

    def _rows(self, closed: bytes) -> Rows | None:
        if self._valid and closed == self._raw:
            return self.rows if not self._waiting else self._decode(closed)
        return self._decode(closed)

    def _decode(self, closed: bytes) -> Rows | None:
        if self._board_lines is None:
            width = len(closed) // max(1, len(self._driven))
        else:
            width = -(-self._board_lines // 8)
            if not self._told and len(closed) == width * self._board_lines:
                self._driven = tuple(range(self._board_lines))
        if width == 0 or width * len(self._driven) != len(closed):
            note = words.odd_state(len(closed), len(self._driven))
            if note not in self.odd_states:
                self.odd_states.append(note)
            return None
        rows = [0] * self._count
        for place, drive in enumerate(self._driven):
            bits = int.from_bytes(closed[place * width : (place + 1) * width], "little")
            if not bits or drive not in self._line_of:
                continue
            row = 0
            for sense, line in self._line_of.items():
                row |= (bits >> sense & 1) << line
            mine = self._line_of[drive]
            rows[mine] = row & self._sampled[mine]
        return tuple(rows)


def _apply(rows: list[int], changes: list[Change] | tuple[Change, ...]) -> None:
    for change in changes:
        if change.closed:
            rows[change.driven] |= 1 << change.sensed
        else:
            rows[change.driven] &= ~(1 << change.sensed)
