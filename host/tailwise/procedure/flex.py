"""The flex watch: one line watched through held keys, left alone first, then zone after zone with one key.

A line can be watched only while a key on it is held, and only from the tail to that key. Openings come in clusters: those
less than 100 ms apart are one episode (common practice), and an episode belongs to the zone being flexed. Time with no key
held on the line counts for nothing. Every step is a mark, so the judgement of the recording does the statistics.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.procedure.order import keys_to_hold
from tailwise.procedure.outcome import QUIET, Command, Outcome, Sound
from tailwise.procedure.sight import Sight, count
from tailwise.procedure.strip import Strip, Trace

CONTROL_US = 45_000_000
"""How long the film is best left alone first: a control of 45 s lets three to five episodes in a zone suffice."""

EPISODE_US = 100_000
"""Openings closer together than this are one episode."""

LET_GO_US = 1_000_000
"""A line without any closed key for this long is either let go or open: the stage then asks."""

HELD_US = 500_000
"""A key of the line that is down for this long is held, though the prompt named others."""

ALONE = ""
"""The name of the step in which the film is left alone."""


@dataclass
class Tally:
    """What one step showed: board time with a key held, openings and episodes."""

    watched_us: int = 0
    openings: int = 0
    episodes: int = 0


@dataclass(frozen=True, slots=True)
class Opening:
    """One opening of the log: when it was seen, on which key, in which step."""

    at_us: int
    key: str
    step: str


@dataclass
class FlexWatch:
    """One line, its keys to hold, and the steps."""

    layout: Layout
    line: str
    working: Collection[str] = ()
    hold: tuple[str, ...] = ()
    step: str | None = None
    done: bool = False
    tallies: dict[str, Tally] = field(default_factory=dict)
    log: list[Opening] = field(default_factory=list)
    strip: Strip = field(default_factory=Strip)
    held: frozenset[str] = frozenset()
    _marked: set[str] = field(default_factory=set)
    _down_us: dict[str, int] = field(default_factory=dict)
    _dropped: Mapping[str, int] | None = None
    _pressed: Mapping[str, int] = field(default_factory=dict)
    _gaps: int = 0
    _now_us: int = 0
    _closed_us: int | None = None
    _open_us: int | None = None
    _next: int = 0

    def __post_init__(self) -> None:
        self.hold = self.hold or keys_to_hold(self.layout, self.line, self.working)

    @property
    def zones(self) -> tuple[str, ...]:
        """Zones to flex, in the layout's order."""
        return tuple(zone.name for zone in self.layout.zones if zone.reachable)

    @property
    def hidden_zones(self) -> tuple[str, ...]:
        """Zones the assembled keyboard hides."""
        return tuple(zone.name for zone in self.layout.zones if not zone.reachable)

    @property
    def upcoming(self) -> str | None:
        """The zone the next step flexes, None for the end."""
        return self.zones[self._next] if self._next < len(self.zones) else None

    @property
    def let_go(self) -> bool:
        """No key on the line has been closed for a while: let go, or the line is open."""
        return self.step is not None and (self._closed_us is None or self._now_us - self._closed_us > LET_GO_US)

    def see(self, sight: Sight) -> Outcome:
        """Take a look at the board."""
        passed_us = max(0, sight.at_us - self._now_us)
        self._now_us = max(self._now_us, sight.at_us)
        on_line = [key for key in self.layout.keys_on.get(self.line, ()) if key not in sight.stuck]
        down = frozenset(key for key in on_line if key in sight.down)
        drops = [key for key in on_line for _ in range(self._new_drops(key, sight))]
        opened = bool(self.held - down)
        self._dropped, self._pressed = dict(sight.dropped), dict(sight.pressed)
        lost = not sight.linked or sight.gaps > self._gaps
        self._gaps = sight.gaps
        if down:
            self._closed_us = self._now_us
        fresh = self._closed_us is not None and self._now_us - self._closed_us <= LET_GO_US
        self.strip.add(self._now_us, _trace(drops, lost, bool(down), fresh))
        marks = self._hold_marks(down)
        self.held = down
        if self.step is None or self.done:
            return Outcome(marks=marks)
        tally = self.tallies.setdefault(self.step, Tally())
        tally.watched_us += passed_us if down and not lost else 0
        self._count(drops, tally)
        sounds = (Sound.DROP,) if drops or (opened and not lost) else ()
        return Outcome(marks=marks, sounds=sounds)

    def command(self, command: Command) -> Outcome:
        """Next step, left alone, reseated; others do nothing."""
        if self.done:
            return QUIET
        match command:
            case Command.NEXT:
                return self._next_step()
            case Command.CONTROL:
                self.step = ALONE
                return self._stepped(Mark(self._now_us, Deed.STILL))
            case Command.RESEAT:
                self.step = None
                self._closed_us = None
                return self._stepped(Mark(self._now_us, Deed.RESEAT, tail=self._tail()))
        return QUIET

    def follow(self, mark: Mark) -> None:
        """A step that somebody else marked."""
        if mark.do is Deed.STILL:
            self.step = ALONE
        elif mark.do is Deed.FLEX:
            self.step = mark.zone or ALONE
            self._next = self.zones.index(self.step) + 1 if self.step in self.zones else self._next
        elif mark.do is Deed.RESEAT:
            self.step = None
        self._open_us = None

    def finish(self) -> Outcome:
        """Leave the watch: the film is left alone, the keys are let go."""
        if self.done:
            return QUIET
        self.done = True
        marks = [Mark(self._now_us, Deed.STILL)] if self.step is not None else []
        marks += [Mark(self._now_us, Deed.RELEASE, key=key) for key in sorted(self._marked)]
        return Outcome(marks=tuple(marks))

    def _next_step(self) -> Outcome:
        if self.step is None and self._next == 0:
            self.step = ALONE
            return self._stepped(Mark(self._now_us, Deed.STILL))
        zone = self.upcoming
        if zone is None:
            return self.finish()
        self._next += 1
        self.step = zone
        return self._stepped(Mark(self._now_us, Deed.FLEX, zone=zone))

    def _stepped(self, mark: Mark) -> Outcome:
        self._open_us = None
        return Outcome(marks=(mark,), sounds=(Sound.STEP,))

    def _hold_marks(self, down: frozenset[str]) -> tuple[Mark, ...]:
        """Keys the prompt names count as held at once, others on the line when they stay down for a while."""
        self._down_us = {key: self._down_us.get(key, self._now_us) for key in sorted(down)}
        held = [key for key, since in self._down_us.items() if key in self.hold or self._now_us - since >= HELD_US]
        new = [key for key in held if key not in self._marked]
        self._marked |= set(new)
        return tuple(Mark(self._now_us, Deed.HOLD, key=key) for key in new) if not self.done else ()

    def _new_drops(self, key: str, sight: Sight) -> int:
        """Openings inside a press, and long ones: a held key that closes anew within a second was not let go."""
        if self._dropped is None:
            return 0
        anew = key in self._marked and not self.let_go
        again = max(0, count(sight.pressed, key) - count(self._pressed, key)) if anew else 0
        return max(0, count(sight.dropped, key) - count(self._dropped, key)) + again

    def _count(self, drops: list[str], tally: Tally) -> None:
        if not drops:
            return
        tally.openings += len(drops)
        if self._open_us is None or self._now_us - self._open_us >= EPISODE_US:
            tally.episodes += 1
        self._open_us = self._now_us
        self.log += [Opening(self._now_us, key, self.step or ALONE) for key in dict.fromkeys(drops)]
        del self.log[:-50]

    def _tail(self) -> str | None:
        return next((tail.name for tail in self.layout.tails or () if self.line in tail.lines), None)


def _trace(drops: list[str], lost: bool, down: bool, fresh: bool) -> Trace:
    if drops:
        return Trace.DROP
    if lost:
        return Trace.LOST
    if down:
        return Trace.WHOLE
    return Trace.OPEN if fresh else Trace.UNWATCHED
