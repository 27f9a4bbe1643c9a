"""The virtual operator: a script of steps becomes fingers on keys, bends of the film, reseated tails, and marks.

All times are run time in microseconds. Nothing happens in the first two seconds, the rest check. The operator knows only
the script: what a key does when pressed is the contacts' affair.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.practice.times import overlap_us, pause_us, press_us

REST_US = 2_000_000
HANDS_ON_US = 300_000
RESEAT_OUT_US = 1_500_000
AFTER_US = 600_000
OVERLAP_LEAST_US = 40_000
SECOND = 1_000_000


@dataclass(frozen=True, slots=True)
class Press:
    """Press these keys one after another (none named: every key in the layout's order), each `times` in a row."""

    keys: tuple[str, ...] = ()
    times: int = 1
    rounds: int = 1


@dataclass(frozen=True, slots=True)
class Hold:
    """Put fingers or clips on these keys and keep them down."""

    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Release:
    """Take them off again (none named: all)."""

    keys: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Flex:
    """Bend a zone for some seconds."""

    zone: str
    seconds: float


@dataclass(frozen=True, slots=True)
class Still:
    """Leave everything alone for some seconds."""

    seconds: float


@dataclass(frozen=True, slots=True)
class Reseat:
    """Pull a tail out and put it back (None: all tails)."""

    tail: str | None


@dataclass(frozen=True, slots=True)
class Unplug:
    """Pull the board's cable and plug it in again after some seconds."""

    seconds: float


@dataclass(frozen=True, slots=True)
class Restart:
    """The board restarts by itself behind a living link: its supply sagged."""


Step = Press | Hold | Release | Flex | Still | Reseat | Unplug | Restart


@dataclass(frozen=True, slots=True)
class Habits:
    """What a hand does beside pressing one key after another.

    Chances per press: of missing it, doubling it, hitting a neighbour instead, and of going down before the key before
    has come up (by 30 ms on average and 100 ms at most: Dhakal and others, CHI 2018). lifts_per_s: how often a finger that
    holds a key slides off it for 20 to 300 ms.
    """

    miss: float = 0.0
    double: float = 0.0
    slip: float = 0.0
    overlap: float = 0.0
    lifts_per_s: float = 0.0


CAREFUL = Habits()
"""A hand that never misses."""


@dataclass(frozen=True, slots=True)
class Finger:
    """A key is down from one time to another."""

    key: str
    down_us: int
    up_us: int


@dataclass(frozen=True, slots=True)
class Span:
    """Something that lasts: a flexed zone, a tail out of its socket, a pulled cable."""

    start_us: int
    end_us: int
    name: str = ""


@dataclass
class Performance:
    """All the operator did."""

    fingers: list[Finger] = field(default_factory=list)
    flexed: list[Span] = field(default_factory=list)
    pulled: list[Span] = field(default_factory=list)
    unplugged: list[Span] = field(default_factory=list)
    restarts: list[int] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    end_us: int = 0


class Operator:
    """Performs a script.

    marking: which deeds the operator marks; none unless the scenario says so. keys: the keys that are really there, where
    the keyboard is not the one the operator believes in; others cannot be pressed.
    """

    def __init__(
        self,
        layout: Layout,
        random: Random,
        habits: Habits = CAREFUL,
        marking: frozenset[Deed] = frozenset(),
        keys: frozenset[str] | None = None,
    ) -> None:
        self._layout = layout
        self._random = random
        self._habits = habits
        self._marking = marking
        self._keys = frozenset(layout.key_by_id if keys is None else keys)
        self._held: dict[str, int] = {}
        self._done = Performance()
        self._now = REST_US + HANDS_ON_US

    def perform(self, script: tuple[Step, ...]) -> Performance:
        """The whole script, once."""
        for step in script:
            self._step(step)
        self._release(tuple(self._held))
        self._done.end_us = self._now + AFTER_US
        self._done.fingers.sort(key=lambda each: (each.down_us, each.key))
        return self._done

    def _mark(self, deed: Deed, key: str | None = None, zone: str | None = None, tail: str | None = None) -> None:
        if deed in self._marking:
            self._done.marks.append(Mark(self._now, deed, key=key, zone=zone, tail=tail))

    def _step(self, step: Step) -> None:
        match step:
            case Press(keys=keys, times=times, rounds=rounds):
                for _ in range(rounds):
                    for key in keys or tuple(each.id for each in self._layout.keys if each.crosspoints):
                        for _ in range(times):
                            self._press(key)
            case Hold(keys=keys):
                for key in (each for each in keys if each in self._keys):
                    self._mark(Deed.HOLD, key=key)
                    self._held[key] = self._now
                    self._now += pause_us(self._random)
                self._now += HANDS_ON_US
            case Release(keys=keys):
                self._release(keys or tuple(self._held))
            case Flex(zone=zone, seconds=seconds):
                self._mark(Deed.FLEX, zone=zone)
                self._done.flexed.append(Span(self._now, self._now + round(seconds * SECOND), zone))
                self._now += round(seconds * SECOND)
            case Still(seconds=seconds):
                self._mark(Deed.STILL)
                self._now += round(seconds * SECOND)
            case Reseat(tail=tail):
                self._mark(Deed.RESEAT, tail=tail)
                names = [tail] if tail is not None else [each.name for each in self._layout.tails or ()]
                self._done.pulled += [Span(self._now, self._now + RESEAT_OUT_US, name) for name in names]
                self._now += RESEAT_OUT_US + HANDS_ON_US
            case Unplug(seconds=seconds):
                self._done.unplugged.append(Span(self._now, self._now + round(seconds * SECOND)))
                self._now += round(seconds * SECOND) + 2 * SECOND
            case Restart():
                self._done.restarts.append(self._now)
                self._now += 3 * SECOND

    def _press(self, key: str) -> None:
        if key not in self._keys:
            return
        last = self._done.fingers[-1] if self._done.fingers else None
        if last is not None and last.key != key and self._random.random() < self._habits.overlap:
            self._now = max(last.down_us + OVERLAP_LEAST_US, last.up_us - overlap_us(self._random)) - HANDS_ON_US // 10
        self._mark(Deed.PRESS, key=key)
        self._now += HANDS_ON_US // 10
        roll = self._random.random()
        habits = self._habits
        if roll >= habits.miss:
            slipped = roll < habits.miss + habits.slip
            self._down(self._neighbour(key) if slipped else key)
            if roll >= 1 - habits.double:
                self._now += pause_us(self._random) // 2
                self._down(key)
        self._now += pause_us(self._random)

    def _down(self, key: str) -> None:
        up = self._now + press_us(self._random)
        self._done.fingers.append(Finger(key, self._now, up))
        self._now = up

    def _neighbour(self, key: str) -> str:
        here = self._layout.key_by_id[key].position
        others = [each for each in self._layout.keys if each.id != key and each.id in self._keys and each.crosspoints]
        return min(others, key=lambda each: ((each.position.x - here.x) ** 2 + (each.position.y - here.y) ** 2, each.id)).id

    def _release(self, keys: tuple[str, ...]) -> None:
        for key in keys:
            if key in self._held:
                self._mark(Deed.RELEASE, key=key)
                self._done.fingers += self._held_down(key, self._held.pop(key), self._now)
                self._now += pause_us(self._random)

    def _held_down(self, key: str, down_us: int, up_us: int) -> list[Finger]:
        """A held key, in pieces where the finger slid off."""
        pieces: list[Finger] = []
        rate = self._habits.lifts_per_s
        while rate > 0:
            off = down_us + HANDS_ON_US + round(self._random.expovariate(rate) * SECOND)
            back = off + round(self._random.uniform(20_000, 300_000))
            if back + HANDS_ON_US >= up_us:
                break
            pieces.append(Finger(key, down_us, off))
            down_us = back
        return [*pieces, Finger(key, down_us, up_us)]
