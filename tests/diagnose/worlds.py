"""Membranes for tests: which presses close, worked out by walking the routes, not by the engine's own sets."""

from __future__ import annotations

from dataclasses import dataclass, field

from tailwise.layoutfile.library import find_layout
from tailwise.model.finding import Finding
from tailwise.model.layout import Layout
from tailwise.model.observation import (
    Attempt,
    AttemptResult,
    Dropout,
    Joined,
    Observations,
    Pair,
    Press,
)

STEP_US = 400_000
HELD_US = 116_000
START_US = 2_500_000


@dataclass
class World:
    """A layout with planted cuts. cut: open lines; broken: (line, first key lost); dead: keys."""

    layout: Layout
    cut: set[str] = field(default_factory=set)
    broken: set[tuple[str, str]] = field(default_factory=set)
    dead: set[str] = field(default_factory=set)

    def reaches(self, line: str, key: str) -> bool:
        """Is the route from the tail to the key whole?"""
        if line in self.cut:
            return False
        origin = {stop.key: stop.origin for stop in (self.layout.routes or {}).get(line, ())}
        at: str | None = key
        while at is not None:
            if (line, at) in self.broken:
                return False
            at = origin.get(at)
        return True

    def closes(self, key_id: str) -> bool:
        """Does a press of the key close a loop?"""
        key = self.layout.key_by_id[key_id]
        if key_id in self.dead or key.row is None or key.column is None:
            return False
        return self.reaches(key.row, key_id) and self.reaches(key.column, key_id)


@dataclass
class Script:
    """What was done in a run, grown step by step into observations."""

    world: World
    presses: list[Press] = field(default_factory=list)
    attempts: list[Attempt] = field(default_factory=list)
    dropouts: list[Dropout] = field(default_factory=list)
    joined: list[Joined] = field(default_factory=list)
    closures: dict[Pair, int] = field(default_factory=dict)
    at_us: int = START_US

    def press(self, key: str, *, named: bool = True, works: bool | None = None) -> Script:
        """One vouched press, seen where the membrane lets it."""
        closed = self.world.closes(key) if works is None else works
        if closed:
            self.read(key)
        if named:
            result = AttemptResult.SEEN if closed else AttemptResult.SILENT
            self.attempts.append(Attempt(key, self.at_us, self.at_us + STEP_US, result))
        self.at_us += STEP_US
        return self

    def read(self, key: str, *, held_us: int = HELD_US, certain: bool = True) -> Script:
        """A closure of a key from now on."""
        point = self.world.layout.key_by_id[key]
        assert point.row is not None and point.column is not None
        self.presses.append(Press(key, self.at_us, self.at_us + held_us, certain, frame=self.at_us // 10_000))
        both = ((point.row, point.column), (point.column, point.row))
        for pair in both[:1] if any(diode.line == point.row for diode in self.world.layout.diodes) else both:
            self.closures[pair] = self.closures.get(pair, 0) + 1
        return self

    def walk(self, *, retries: int = 3, named: bool = True) -> Script:
        """Every key once, silent ones again."""
        for key in self.world.layout.keys:
            self.press(key.id, named=named)
            if named and not self.world.closes(key.id):
                for _ in range(retries - 1):
                    self.press(key.id)
        return self

    def drop(self, lost: tuple[str, ...], kept: tuple[str, ...] = (), *, open_us: int = 5000, bridged: bool = False) -> Script:
        """Keys held for a second that open together in the middle."""
        for key in (*lost, *kept):
            self.read(key, held_us=1_000_000)
        middle = self.at_us + 500_000
        self.dropouts.append(Dropout(middle, middle + open_us, tuple(sorted(lost)), tuple(sorted(kept)), bridged))
        self.at_us += 1_500_000
        return self

    def join(self, one: str, two: str) -> Script:
        """Two lines joined all through the rest check."""
        for pair in ((one, two), (two, one)):
            self.joined.append(Joined(pair, 0, 2_000_000, True))
            self.closures[pair] = 1
        return self

    def observations(self, *, every_key_pressed: bool = False) -> Observations:
        """What the run showed."""
        return Observations(
            layout=self.world.layout,
            presses=tuple(self.presses),
            attempts=tuple(self.attempts),
            dropouts=tuple(self.dropouts),
            joined=tuple(self.joined),
            closures=dict(self.closures),
            every_key_pressed=every_key_pressed,
            started=True,
            rest_done=True,
            end_us=self.at_us,
            scan_us=250,
        )


def demo(name: str = "demo-7x6") -> World:
    """A sound demo keyboard."""
    return World(find_layout(name))


def brief(findings: tuple[Finding, ...]) -> list[tuple[str, tuple[str, ...], tuple[str, ...]]]:
    """Kind, lines and keys of findings."""
    return [(each.fault.kind.value, each.fault.lines, each.fault.keys) for each in findings]
