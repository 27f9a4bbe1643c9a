"""What one run showed, in the terms diagnosis reasons about.

Times are microseconds of the board since the acknowledged start. Pairs are (driven line, sensed line) by layout name.
'Not observed' is a value of its own: a blind stretch, a reading inside a closed rectangle and an untried key are never
'open'.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from tailwise.model.layout import Layout
from tailwise.model.mark import Mark

Pair = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Blind:
    """A stretch in which nothing is known, and why (lost frames, dropped transitions, link lost, restart)."""

    start_us: int
    end_us: int
    why: str

    @property
    def length_us(self) -> int:
        """Length in microseconds."""
        return self.end_us - self.start_us


@dataclass(frozen=True, slots=True)
class Dropout:
    """An opening inside a press (after make bounce, before break bounce) that closed again.

    lost: keys that read open together (within one scan); kept: keys held at that time that were read in it and stayed
    closed (none for an opening of less than two scans: it may have fallen between their readings).
    bridged: the partner lines of two lost keys were seen to stay joined through the film.
    """

    start_us: int
    end_us: int
    lost: tuple[str, ...]
    kept: tuple[str, ...]
    bridged: bool = False


@dataclass(frozen=True, slots=True)
class Press:
    """One press of one key as it was read.

    certain: False where it lay inside a closed rectangle (or on joined lines) all the time, so that another key may
    have caused it. end_us None: still closed at the end. Bounce as in ASTM F1661-09, microseconds. frame: number of the
    frame that brought its first closure. one_way: closed in one direction of drive only, as (driven, sensed).
    """

    key: str
    start_us: int
    end_us: int | None
    certain: bool = True
    make_bounce_us: int = 0
    break_bounce_us: int = 0
    frame: int = 0
    one_way: Pair | None = None


@dataclass(frozen=True, slots=True)
class WatchSpan:
    """One pair of lines watched without pause, from one START of a watch to its end, microseconds of run time.

    closed: stretches in which the pair read closed, openings that ended inside them included; the rest of the span is
    time without a loop, blind for both lines. openings, open_us: the board's own counts, also of what it could not list.
    unlisted: (start, end, openings, open_us) of openings that were only counted: dropped by the board, or their frame lost.
    blind_us: time in which the board read nothing. shortest_ns: the shortest opening its polling cannot miss; the line's own
    rise time comes on top. switched: the pull-up was the switched one.
    """

    sensed: str
    driven: str
    start_us: int
    end_us: int
    closed: tuple[tuple[int, int], ...] = ()
    openings: int = 0
    open_us: int = 0
    unlisted: tuple[tuple[int, int, int, int], ...] = ()
    blind_us: int = 0
    shortest_ns: int = 0
    switched: bool = True

    @property
    def closed_us(self) -> int:
        """How long the pair could show an opening."""
        return sum(end - start for start, end in self.closed)


class AttemptResult(StrEnum):
    """What came of a press the operator says was made."""

    SEEN = "seen"
    ELSEWHERE = "elsewhere"
    SILENT = "silent"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Attempt:
    """A press the operator vouches for (a press mark), and what was read before the next mark.

    elsewhere: no closure of that key but new closures of other keys, named in `landed` (crosspoints with no key give
    the pair of lines). unknown: a blind stretch of 50 ms or more, or a closed rectangle, could hide it.
    """

    key: str
    start_us: int
    end_us: int
    result: AttemptResult
    landed: tuple[Pair, ...] = ()


@dataclass(frozen=True, slots=True)
class Joined:
    """Lines that read joined with nothing pressed, for how long; steady: all through the rest check.

    one_way: read in one direction of drive only.
    """

    lines: Pair
    start_us: int
    end_us: int
    steady: bool
    one_way: bool = False


class LineHeld(StrEnum):
    """What the check of the undriven lines said."""

    CLEAR = "clear"
    HIGH = "high"
    LOW = "low"
    NOT_CHECKED = "not_checked"


@dataclass(frozen=True, slots=True)
class LinkCounts:
    """Frames received good, numbers missing (bad ones included), failed checks, runs of missing numbers."""

    frames: int = 0
    lost: int = 0
    bad: int = 0
    gaps: int = 0
    repeated: int = 0
    resyncs: int = 0
    dropped_transitions: int = 0


@dataclass(frozen=True)
class Observations:
    """Everything one run showed.

    joined: readings at rest and readings between lines that no key joins. closures: for every pair read closed at any
    time, the total count of closures (raw). refusals: names of refusal codes. link_lost: the link, or scanning after a
    restart, was lost and not regained by the end. elsewhere: pairs of a row and a column without a key that read closed
    although no rectangle explains them. rest_done: the 2 s of the rest check were scanned. end_us: last board time.
    watches: pairs watched without pause; their openings stand among the dropouts.
    """

    layout: Layout
    presses: tuple[Press, ...] = ()
    dropouts: tuple[Dropout, ...] = ()
    attempts: tuple[Attempt, ...] = ()
    joined: tuple[Joined, ...] = ()
    blind: tuple[Blind, ...] = ()
    marks: tuple[Mark, ...] = ()
    closures: dict[Pair, int] = field(default_factory=dict)
    elsewhere: tuple[Pair, ...] = ()
    held: dict[str, LineHeld] = field(default_factory=dict)
    every_key_pressed: bool = False
    started: bool = False
    rest_done: bool = False
    end_us: int = 0
    scan_us: int = 0
    overloads: int = 0
    link: LinkCounts = field(default_factory=LinkCounts)
    refusals: tuple[str, ...] = ()
    link_lost: bool = False
    watches: tuple[WatchSpan, ...] = ()
