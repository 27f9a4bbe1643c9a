"""What a run tells its face while it runs: frozen events, one after another, in the order things happened.

A run that goes well: Connecting, Connected, LinesChecked, Started, Progress ..., Finished. LinkDown, LinkUp and
BoardRestarted may come at any time after Connected, MarkMade and Watching after Started. Refused ends a run that cannot go on
(no port, wrong firmware, too few lines, a line held from outside); Finished always comes last and comes once.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tailwise.model.mark import Mark
from tailwise.model.observation import LineHeld, Pair
from tailwise.observe.snapshot import Snapshot
from tailwise.wire.messages import Identity


@dataclass(frozen=True, slots=True)
class Connecting:
    """The link is open and the board is being asked who it is; `url` as the user gave it."""

    url: str


@dataclass(frozen=True, slots=True)
class Connected:
    """The board said who it is."""

    identity: Identity


@dataclass(frozen=True, slots=True)
class WiringKept:
    """The harness is not taken as plainly wired: a wiring was kept for this board and layout; `how` it was found."""

    how: str


@dataclass(frozen=True, slots=True)
class LinesChecked:
    """What the undriven lines did before anything was driven: layout line -> status."""

    held: dict[str, LineHeld]

    @property
    def held_lines(self) -> tuple[str, ...]:
        """Lines that something outside holds high or low, sorted; the board drives nothing then."""
        return tuple(sorted(line for line, held in self.held.items() if held in (LineHeld.HIGH, LineHeld.LOW)))


@dataclass(frozen=True, slots=True)
class Started:
    """Scanning runs; `run_us` is run time, 0 the first time. `again` after a lost link or a restarted board."""

    run_us: int
    again: bool = False


@dataclass(frozen=True, slots=True)
class Watching:
    """What the board observes from now on: pairs as (sensed, driven) lines without pause, or the matrix (no pairs).

    why_not: why the matrix, though pairs were asked for. The shortest opening that cannot be missed stands in the
    snapshots, as does the time nothing was read.
    """

    pairs: tuple[Pair, ...]
    switched: bool
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class Progress:
    """The live map as observed so far, at a bounded rate; `run_us` is run time in microseconds."""

    run_us: int
    snapshot: Snapshot


@dataclass(frozen=True, slots=True)
class MarkMade:
    """A mark stands in the recording: the app's own, the practice operator's, a marks file's or a replay's."""

    mark: Mark


@dataclass(frozen=True, slots=True)
class LinkDown:
    """The link broke or the board fell silent. Everything so far is recorded; the run tries to get it back."""

    why: str
    next_step: str


@dataclass(frozen=True, slots=True)
class LinkUp:
    """The port is open again; `url` may name another device file than before."""

    url: str


@dataclass(frozen=True, slots=True)
class BoardRestarted:
    """The board restarted behind a living link, or stopped by itself; it is configured and started again."""

    why: str


@dataclass(frozen=True, slots=True)
class Refused:
    """The run cannot go on: reason, likely cause and next step, ready for a person to read."""

    reason: str
    likely: str
    next_step: str


@dataclass(frozen=True, slots=True)
class Finished:
    """The end: the findings document and its exact bytes; `recording` is the file that holds the run, if any.

    notes: sentences about the records themselves (a torn replay, a mark with an unknown key), never about the keyboard.
    """

    document: dict[str, Any]
    data: bytes
    recording: Path | None = None
    notes: tuple[str, ...] = ()


LiveEvent = (
    Connecting
    | Connected
    | WiringKept
    | LinesChecked
    | Started
    | Watching
    | Progress
    | MarkMade
    | LinkDown
    | LinkUp
    | BoardRestarted
    | Refused
    | Finished
)
"""Everything a run tells."""
