"""A keyboard as its layout file describes it: lines, keys, tails, routes, diodes, zones and the computer's inputs."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property


class KeyboardKind(StrEnum):
    """How the contacts are built."""

    FILM = "film"
    PADS = "pads"
    SWITCHES = "switches"


@dataclass(frozen=True, slots=True)
class Position:
    """A key on the drawing, in key units: top left corner, size, and rotation in degrees about the centre."""

    x: float
    y: float
    width: float = 1.0
    height: float = 1.0
    rotation: float = 0.0


@dataclass(frozen=True, slots=True)
class Key:
    """One key.

    row and column are the two lines its contact joins; both None for a key outside the matrix that no line reaches.
    Two keys may share one crosspoint, then both say `shared`. `also` holds further crosspoints the same key closes.
    locking: it stays down until pressed again. note: what a person should know of it.
    """

    id: str
    legend: str
    row: str | None
    column: str | None
    position: Position
    shifted: str | None = None
    also: tuple[tuple[str, str], ...] = ()
    iso: str | None = None
    hid: int | None = None
    locking: bool = False
    shared: bool = False
    note: str | None = None

    @property
    def crosspoints(self) -> tuple[tuple[str, str], ...]:
        """Every (row, column) the key closes."""
        own = () if self.row is None or self.column is None else ((self.row, self.column),)
        return own + self.also


@dataclass(frozen=True, slots=True)
class Tail:
    """A ribbon tail: its lines in contact order; a contact that carries no line is None."""

    name: str
    contacts: tuple[str | None, ...]
    pitch_mm: float | None = None

    @property
    def lines(self) -> tuple[str, ...]:
        """The lines in contact order, unused contacts left out."""
        return tuple(line for line in self.contacts if line is not None)


@dataclass(frozen=True, slots=True)
class RouteStop:
    """A crosspoint on a line's route: reached from `origin` (a key on the same line, None for the tail).

    mm is the length of that stretch of trace, None where unknown.
    """

    key: str
    origin: str | None
    mm: float | None


@dataclass(frozen=True, slots=True)
class Diode:
    """A diode in series with a whole line or with one key.

    line diodes: conducts `to_tail` (the line can be driven low) or `from_tail` (the line can only be sensed).
    key diodes: cathode on the `row` or the `column` (that line can be driven low).
    """

    line: str | None
    key: str | None
    conducts: str


@dataclass(frozen=True, slots=True)
class Target:
    """The real computer's inputs: volts and ohms; diode_v is the drop of a series diode, 0 for none."""

    supply_v: float
    pullup_ohm: float
    vil_v: float
    vol_v: float = 0.0
    diode_v: float = 0.0
    about: str = ""


@dataclass(frozen=True, slots=True)
class Zone:
    """A place to flex; `reachable` is False where the assembled keyboard hides it."""

    name: str
    reachable: bool = True


@dataclass(frozen=True, slots=True)
class Source:
    """Where facts come from: which facts, the publication, and what they were compared with."""

    facts: str
    source: str
    checked_against: str | None = None
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Where published sources differ: what each says, which keys it touches, and what this file takes and why."""

    about: str
    taken: str
    keys: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Limits:
    """What a contact of this build should stay under: ohms of the closed loop when good and at most, bounce in ms."""

    good_ohm: float
    most_ohm: float
    bounce_ms: float


@dataclass(frozen=True)
class Layout:
    """A checked layout. `text` is the file it came from, stored in every recording."""

    id: str
    title: str
    kind: KeyboardKind
    rows: tuple[str, ...]
    columns: tuple[str, ...]
    keys: tuple[Key, ...]
    singles: tuple[str, ...] = ()
    tails: tuple[Tail, ...] | None = None
    routes: dict[str, tuple[RouteStop, ...]] | None = None
    diodes: tuple[Diode, ...] = ()
    zones: tuple[Zone, ...] = ()
    target: Target | None = None
    sources: tuple[Source, ...] = ()
    disagreements: tuple[Disagreement, ...] = ()
    limits: Limits | None = None
    notes: str = ""
    text: str = field(default="", repr=False, compare=False)

    @cached_property
    def lines(self) -> tuple[str, ...]:
        """Every line: rows, columns, singles, in the file's order."""
        return self.rows + self.columns + self.singles

    @cached_property
    def key_by_id(self) -> dict[str, Key]:
        """Key id -> key."""
        return {key.id: key for key in self.keys}

    @cached_property
    def keys_on(self) -> dict[str, tuple[str, ...]]:
        """Line -> ids of the keys on it, in the file's order."""
        return {
            line: tuple(key.id for key in self.keys if any(line in point for point in key.crosspoints)) for line in self.lines
        }

    @cached_property
    def keys_at(self) -> dict[frozenset[str], tuple[str, ...]]:
        """Pair of lines -> ids of the keys on that crosspoint."""
        table: dict[frozenset[str], tuple[str, ...]] = {}
        for key in self.keys:
            for point in key.crosspoints:
                pair = frozenset(point)
                table[pair] = (*table.get(pair, ()), key.id)
        return table

    @property
    def routes_assumed(self) -> bool:
        """True where a source says that the routes are a proposal, not a published fact."""
        return any(source.assumed and "route" in source.facts.lower() for source in self.sources)

    @cached_property
    def harness_order(self) -> tuple[str, ...]:
        """Lines in the order a plain harness takes them: tail by tail in contact order, then lines on no tail."""
        on_tails = tuple(line for tail in self.tails or () for line in tail.lines)
        return on_tails + tuple(line for line in self.lines if line not in on_tails)
