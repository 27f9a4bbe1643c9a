"""A keyboard nobody described, line against line: closed now, ever closed, joined at rest, openings that no finger makes.

Idea. Without keys nothing says what a press is; but lines that were joined for longer than any bounce, part, are joined again
within FLICKER_US and stay so for longer than any bounce were not let go by a finger: a contact or a line comes and goes.
Joined means in one group: with two keys held on a line, three lines read as joined, and one that leaves the group and comes
back is counted as that line. What is closed at the end of the rest check with nothing pressed is a short or a stuck key;
without a layout the two look alike.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from threading import Lock

from tailwise.harness.wiring import plain_wiring
from tailwise.learn.bare import bare_layout
from tailwise.learn.sighting import BoardPair
from tailwise.observe.matrix import Matrix, Rows, Step
from tailwise.observe.stream import Stream
from tailwise.observe.thresholds import BOUNCE_SPAN_US, REST_US
from tailwise.recording.format import Record

FLICKER_US = 50_000
"""Longest opening that counts as flicker: the fastest tapping (10 a second) leaves a key open for about as long
(common practice)."""


@dataclass(frozen=True)
class RawPicture:
    """Pairs are board lines: now and ever as (driven, sensed), stuck and flickers with the lower line first.

    stuck: closed since the rest check and never opened. flickers: pair -> openings. line_flickers: line -> how often it left
    and came back, most first. run_us: newest time of the board.
    """

    lines: int
    resting: bool
    now: frozenset[BoardPair]
    ever: frozenset[BoardPair]
    stuck: frozenset[BoardPair]
    flickers: dict[BoardPair, int]
    line_flickers: dict[int, int]
    blind_us: int
    run_us: int

    @property
    def closed_now(self) -> tuple[BoardPair, ...]:
        """Pairs closed now in either direction and not stuck."""
        return tuple(sorted({(min(pair), max(pair)) for pair in self.now} - self.stuck))

    @property
    def never(self) -> tuple[int, ...]:
        """Lines that never closed with any other."""
        seen = {line for pair in self.ever for line in pair}
        return tuple(line for line in range(self.lines) if line not in seen)


class RawWatch:
    """Feed it every record. `hear` belongs to the run's thread, the rest to any."""

    def __init__(self, lines: int) -> None:
        layout = bare_layout(lines)
        self._lines = lines
        self._lock = Lock()
        self._matrix = Matrix(layout, plain_wiring(layout))
        self._stream = Stream()
        self._rows: Rows = (0,) * lines
        self._rested = False
        self._ever: set[BoardPair] = set()
        self._stuck: set[BoardPair] = set()
        self._closed_since: dict[BoardPair, int] = {}
        self._opened_at: dict[BoardPair, int] = {}
        self._back: dict[BoardPair, int] = {}
        self._flickers: Counter[BoardPair] = Counter()
        self._line_flickers: Counter[int] = Counter()
        self._blind_us = 0
        self._run_us = 0

    def hear(self, record: Record) -> None:
        """One record of the run."""
        with self._lock:
            for event in self._stream.feed(record):
                if self._stream.identity is not None:
                    self._matrix.set_line_count(self._stream.identity.line_count)
                step = self._matrix.feed(event)
                if step is not None:
                    self._step(step)

    def afresh(self) -> None:
        """Forget what was seen so far; what is closed now counts as closed at rest."""
        with self._lock:
            self._ever = set(_pairs(self._rows))
            self._stuck = {(min(pair), max(pair)) for pair in self._ever}
            self._flickers.clear()
            self._line_flickers.clear()
            self._opened_at.clear()
            self._back.clear()

    def picture(self) -> RawPicture:
        """How it stands."""
        with self._lock:
            return RawPicture(
                self._lines,
                not self._rested,
                frozenset(_pairs(self._rows)),
                frozenset(self._ever),
                frozenset(self._stuck),
                dict(self._flickers),
                dict(sorted(self._line_flickers.items(), key=lambda item: (-item[1], item[0]))),
                self._blind_us,
                self._run_us,
            )

    def _step(self, step: Step) -> None:
        rows = list(self._rows)
        for change in step.changes:
            self._rest_ends(change.t_us)
            if change.closed:
                rows[change.driven] |= 1 << change.sensed
            else:
                rows[change.driven] &= ~(1 << change.sensed)
            self._become(tuple(rows), change.t_us)
        if step.blind is not None:
            self._blind_us += step.blind[1] - step.blind[0]
            self._closed_since.clear()
            self._opened_at.clear()
            self._back.clear()
        self._rest_ends(step.t_us)
        self._become(step.rows, step.t_us)
        self._count(step.t_us)
        self._run_us = step.t_us

    def _rest_ends(self, t_us: int) -> None:
        if not self._rested and t_us >= REST_US:
            self._rested = True
            self._stuck = {(min(pair), max(pair)) for pair in _pairs(self._rows)}

    def _become(self, rows: Rows, t_us: int) -> None:
        self._count(t_us)
        pairs = set(_pairs(rows))
        joints = _groups(pairs)
        self._rows = rows
        self._ever |= pairs
        self._stuck &= {(min(pair), max(pair)) for pair in pairs}
        for joint in joints - self._closed_since.keys():
            opened = self._opened_at.pop(joint, None)
            if opened is not None and t_us - opened <= FLICKER_US:
                self._back[joint] = opened
            self._closed_since[joint] = t_us
        for joint in self._closed_since.keys() - joints:
            opened = self._back.pop(joint, None)
            if t_us - self._closed_since.pop(joint) >= BOUNCE_SPAN_US:
                self._opened_at[joint] = t_us
            elif opened is not None:
                self._opened_at[joint] = opened

    def _count(self, t_us: int) -> None:
        """What has been back for longer than a key let go could bounce was no finger."""
        back: dict[int, list[BoardPair]] = {}
        for joint in [joint for joint in self._back if t_us - self._closed_since[joint] >= BOUNCE_SPAN_US]:
            back.setdefault(self._back.pop(joint), []).append(joint)
            self._flickers[joint] += 1
        for together in back.values():
            self._line_flickers.update(_leavers(together))


def _groups(pairs: set[BoardPair]) -> set[BoardPair]:
    """Every two lines that some way of closed contacts joins, the lower line first."""
    group: dict[int, set[int]] = {}
    for one, other in pairs:
        both = group.get(one, {one}) | group.get(other, {other})
        for line in both:
            group[line] = both
    return {(one, other) for one, lines in group.items() for other in lines if one < other}


def _leavers(pairs: list[BoardPair]) -> list[int]:
    """The lines that left: those on most of the pairs that parted together."""
    counted = Counter(line for pair in pairs for line in pair)
    return [line for line, count in counted.items() if count == max(counted.values())]


def _pairs(rows: Rows) -> list[BoardPair]:
    return [(driven, bit) for driven, row in enumerate(rows) for bit in range(row.bit_length()) if row >> bit & 1]
