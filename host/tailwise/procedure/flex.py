"""The flex watch: lines watched through held keys, left alone first, then zone after zone with one key.

A line can be watched only while a key on it is held, and only from the tail to that key. One line is watched through two
witness keys, without pause where the board can; the whole keyboard through the hold-down set; a key's row and column
apart through the pair that separates them. Time with no key held is blind and counted as such. A step says when it has gone
on long enough. Every step is a mark, so the judgement of the recording does the statistics.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Pair
from tailwise.observe.rates import Enough
from tailwise.procedure.flexstats import ALONE, FlexStats, Opening, Tally
from tailwise.procedure.holdset import hold_set
from tailwise.procedure.order import along_route
from tailwise.procedure.outcome import QUIET, Command, Outcome, Sound
from tailwise.procedure.sight import Sight, count
from tailwise.procedure.strip import Strip, Trace
from tailwise.procedure.witness import Witnesses, pairs_of, separating, witnesses

__all__ = ["ALONE", "CONTROL_US", "FlexWatch", "Opening", "Tally", "watch_separated", "watch_whole"]

CONTROL_US = 45_000_000
"""How long the film is best left alone first: a control of 45 s lets three to five episodes in a zone suffice."""

LET_GO_US = 1_000_000
"""A line without any closed key for this long is either let go or open: the stage then asks."""

FLICKER_US = 300_000
"""A line that read closed so lately is opening and closing, not let go: the time counts as watched."""

HELD_US = 500_000
"""A key of the line that is down for this long is held, though the prompt named others."""


@dataclass
class FlexWatch:
    """What is watched, its keys to hold, and the steps.

    line: the watched line; empty where `hold` watches several. split: the two keys held tell a row from a column.
    """

    layout: Layout
    line: str
    working: Collection[str] = ()
    hold: tuple[str, ...] = ()
    split: Witnesses | None = None
    step: str | None = None
    done: bool = False
    pairs: tuple[Pair, ...] = ()
    together: int = 0
    shortest_us: float = 0.0
    stats: FlexStats = field(default_factory=FlexStats)
    strip: Strip = field(default_factory=Strip)
    held: frozenset[str] = frozenset()
    _marked: set[str] = field(default_factory=set)
    _down_us: dict[str, int] = field(default_factory=dict)
    _dropped: Mapping[str, int] | None = None
    _pressed: Mapping[str, int] = field(default_factory=dict)
    _gaps: int = 0
    _closed_at: dict[str, int] = field(default_factory=dict)
    _now_us: int = 0
    _closed_us: int | None = None
    _next: int = 0

    def __post_init__(self) -> None:
        self.hold = self.hold or witnesses(self.layout, self.line, self.working).keys

    @property
    def tallies(self) -> dict[str, Tally]:
        """What every step showed."""
        return self.stats.tallies

    @property
    def log(self) -> list[Opening]:
        """The newest openings."""
        return self.stats.log

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys whose openings count: those on the line, or those held."""
        return self.layout.keys_on.get(self.line, ()) if self.line else self.hold

    @property
    def whole(self) -> bool:
        """The hold-down set watches every line."""
        return not self.line and self.split is None

    @property
    def enough(self) -> Enough:
        """Whether the running step has gone on long enough."""
        if self.step is None:
            return Enough.GO_ON
        if self.step == ALONE:
            tally = self.tallies.get(ALONE)
            return Enough.QUIET if tally is not None and tally.watched_us >= CONTROL_US else Enough.GO_ON
        zones = len(self.layout.zones)
        if self.line:
            return self.stats.says(self.step, zones, joint=len(self.pairs) > 1)
        says = [self.stats.says(self.step, zones, key) for key in self.hold]
        if Enough.MOVES in says:
            return Enough.MOVES
        return Enough.GO_ON if Enough.GO_ON in says else Enough.QUIET

    @property
    def suspect(self) -> tuple[str, str] | None:
        """A key, and the zone in which it drops out without its witness: worth a look at its row and column apart."""
        return self.stats.suspect(self.hold) if not self.line or len(self.pairs) > 1 else None

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

    @property
    def held_short(self) -> tuple[str, ...]:
        """The held keys, where all stand nearer to the tail than one that was asked for; none where no route tells."""
        if not self.line or not self.held or self.line not in (self.layout.routes or {}):
            return ()
        order = along_route(self.layout, self.line)
        wanted = max((order.index(key) for key in self.hold if key in order), default=-1)
        nearest_enough = any(order.index(key) >= wanted for key in self.held if key in order)
        return () if nearest_enough else tuple(sorted(self.held))

    def see(self, sight: Sight) -> Outcome:
        """Take a look at the board."""
        passed_us = 0 if self._dropped is None else max(0, sight.at_us - self._now_us)
        self._now_us = max(self._now_us, sight.at_us)
        on_line = [key for key in self.keys if key not in sight.stuck]
        joint = sight.together > self.together
        self.together, self.shortest_us = sight.together, sight.shortest_us
        down = frozenset(key for key in on_line if key in sight.down)
        drops = [key for key in on_line for _ in range(self._new_drops(key, sight))]
        opened = bool(self.held - down)
        self._dropped, self._pressed = dict(sight.dropped), dict(sight.pressed)
        lost = not sight.linked or sight.gaps > self._gaps
        self._gaps = sight.gaps
        if down:
            self._closed_us = self._now_us
        self._closed_at.update(dict.fromkeys(down, self._now_us))
        fresh = self._closed_us is not None and self._now_us - self._closed_us <= LET_GO_US
        self.strip.add(self._now_us, _trace(drops, lost, bool(down), fresh))
        marks = self._hold_marks(down)
        self.held = down
        if self.step is None or self.done:
            return Outcome(marks=marks)
        tally = self.stats.tally(self.step)
        if self._whole_down(down) and not lost:
            tally.watched_us += passed_us
        else:
            tally.blind_us += passed_us
        timed = tuple((start, key, length) for key, start, length in sight.openings if key in on_line)
        self.stats.count(drops, self._now_us, self.step, timed, joint)
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
                self._choose_pairs()
                self.step = ALONE
                return self._stepped(Mark(self._now_us, Deed.STILL))
            case Command.RESEAT:
                self.step = None
                self.pairs = ()
                self._closed_us = None
                return self._stepped(Mark(self._now_us, Deed.RESEAT, tail=self._tail()))
        return QUIET

    def follow(self, mark: Mark) -> None:
        """A step that somebody else marked."""
        if mark.do in (Deed.STILL, Deed.FLEX):
            self._choose_pairs()
        if mark.do is Deed.STILL:
            self.step = ALONE
        elif mark.do is Deed.FLEX:
            self.step = mark.zone or ALONE
            self._next = self.zones.index(self.step) + 1 if self.step in self.zones else self._next
        elif mark.do is Deed.RESEAT:
            self.step, self.pairs = None, ()
        self.stats.new_step()

    def finish(self) -> Outcome:
        """Leave the watch: the film is left alone, the keys are let go."""
        if self.done:
            return QUIET
        self.done, self.pairs = True, ()
        marks = [Mark(self._now_us, Deed.STILL)] if self.step is not None else []
        marks += [Mark(self._now_us, Deed.RELEASE, key=key) for key in sorted(self._marked)]
        return Outcome(marks=tuple(marks))

    def _next_step(self) -> Outcome:
        self._choose_pairs()
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
        self.stats.new_step()
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

    def _whole_down(self, down: frozenset[str]) -> bool:
        """Enough keys are closed to count the time as watched: one on the line, or all of a set that are not opening."""
        if self.line:
            return bool(down) or (self._closed_us is not None and self._now_us - self._closed_us <= FLICKER_US)
        return all(key in down or self._now_us - self._closed_at.get(key, -LET_GO_US) <= LET_GO_US for key in self.hold)

    def _choose_pairs(self) -> None:
        """What to watch without pause from the first step on: through the keys that are held, or else through those named."""
        if self.step is not None or self.whole:
            return
        if self.split is not None:
            self.pairs = self.split.pairs
            return
        named = [key for key in self.hold if key in self.held] + [key for key in sorted(self.held) if key not in self.hold]
        self.pairs = pairs_of(self.layout, self.line, (named or list(self.hold))[:2])

    def _tail(self) -> str | None:
        return next((tail.name for tail in self.layout.tails or () if self.line in tail.lines), None)


def watch_whole(layout: Layout, without: Collection[str] = ()) -> FlexWatch:
    """Every line at once through the hold-down set; without: keys that do not close."""
    return FlexWatch(layout, "", hold=hold_set(layout, without).keys)


def watch_separated(layout: Layout, key: str, without: Collection[str] = ()) -> FlexWatch | None:
    """The row and the column of a key apart from each other and from its contact; None where no two keys do that."""
    split = separating(layout, key, without)
    return None if split is None else FlexWatch(layout, "", hold=split.keys, split=split)


def _trace(drops: list[str], lost: bool, down: bool, fresh: bool) -> Trace:
    if drops:
        return Trace.DROP
    if lost:
        return Trace.LOST
    if down:
        return Trace.WHOLE
    return Trace.OPEN if fresh else Trace.UNWATCHED
