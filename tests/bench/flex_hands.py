"""The operator of the flex benchmark: left alone first, then zone after zone, until enough was seen; and what the board saw.

Two ways: one line through two witness keys held by fingers and watched without pause, and the whole keyboard through
clips on the hold-down set in the matrix, the suspect key's row and column apart after that. What the board saw is
worked out here from the truth: a watch times every opening, a matrix samples each pair twice a scan.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace

from tailwise.harness.wiring import plain_wiring
from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Dropout, Observations, Pair, Press
from tailwise.observe.rates import Enough, more_often
from tailwise.observe.watchevents import WatchBegan, WatchCounts, WatchedOpening, WatchOpenings
from tailwise.observe.watching import WatchLog
from tailwise.observe.zonerates import Seen, enough, suspicious
from tailwise.procedure.holdset import hold_set
from tailwise.procedure.witness import Witnesses, separating, witnesses
from tests.bench.flex_truth import SECOND, Fault, Flexing, Span, apart, crack, finger

CONTROL_US = 45 * SECOND
LONGEST_US = 20 * SECOND
STEP_US = 3 * SECOND
CLIPS_US = 40 * SECOND
AGAIN_US = 30 * SECOND
FIRST_US = 3 * SECOND
JOIN_US = 100_000
WATCHED_US = 50_000
REACTION_US = 400_000
BOTH = "both keys"
SCAN_US = 700


@dataclass
class Session:
    """What was done and what the board saw of it; flexed_us: time spent on the zone of the fault."""

    layout: Layout
    rng: random.Random
    fault: Fault
    steps: list[Flexing] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    dropouts: list[Dropout] = field(default_factory=list)
    watches: list[WatchLog] = field(default_factory=list)
    presses: list[Press] = field(default_factory=list)
    at_us: int = FIRST_US
    flexed_us: int = 0
    extra_us: int = 0
    control_us: int = 0
    separated: set[str] = field(default_factory=set)
    wobble: dict[str, list[Span]] = field(default_factory=dict)
    last_pairs: tuple[Pair, ...] = ()
    last_openings: tuple[list[Span], ...] = ()
    last_span: Span = (0, 0)

    @property
    def operator_s(self) -> float:
        """The operator's time, clips and changes of zone included."""
        return (self.at_us - FIRST_US + self.extra_us) / SECOND

    def observations(self) -> Observations:
        """The run as the engine gets it."""
        log_drops = [dropout for log in self.watches for dropout in log.dropouts()]
        return Observations(
            layout=self.layout,
            presses=tuple(self.presses),
            dropouts=tuple(sorted([*self.dropouts, *log_drops], key=lambda each: (each.start_us, each.lost))),
            watches=tuple(span for log in self.watches for span in log.spans()),
            marks=tuple(self.marks),
            started=True,
            rest_done=True,
            end_us=self.at_us,
            scan_us=SCAN_US,
        )


def zones_of(session: Session) -> list[str]:
    """The zones in the order this operator takes them."""
    zones = [zone.name for zone in session.layout.zones if zone.reachable]
    session.rng.shuffle(zones)
    return zones


def starts_of_episodes(spans: list[Span]) -> list[int]:
    """When openings begin that come more than 100 ms after the one before."""
    found: list[int] = []
    last = -JOIN_US
    for start, end in spans:
        if start - last >= JOIN_US:
            found.append(start)
        last = max(last, end)
    return found


def bend(
    session: Session, zone: str, judged: dict[str, bool], stop_for: tuple[str, ...] | None = None
) -> tuple[float, str] | None:
    """Flex a zone until enough was seen of what is judged: whose name it says, or None after the longest time.

    judged: name -> whether the fault shows there; a finger's own openings show under the name of its key. stop_for: what may
    end the step early (all that is judged where None); what else looks suspicious in the end comes with its p-value.
    """
    step = Flexing(session.at_us, session.at_us + LONGEST_US, zone)
    openings = crack(session.rng, step) if zone == session.fault.zone else []
    wobble = {key: finger(session.rng, [step]) for key in session.wobble}
    stop_us, moves = step.end_us, None
    shown: dict[str, list[int]] = {}
    control: dict[str, Seen] = {}
    for name, shows in judged.items():
        before = [one for one in session.wobble.get(name, []) if one[0] < session.control_us]
        control[name] = Seen(len(starts_of_episodes(before)), CONTROL_US / SECOND)
        shown[name] = starts_of_episodes(apart([*(openings if shows else []), *wobble.get(name, [])]))
        for count, at_us in enumerate(shown[name], start=1):
            says = enough(control[name], Seen(count, (at_us - step.start_us) / SECOND), len(session.layout.zones))
            may_stop = stop_for is None or name in stop_for
            if says is Enough.MOVES and may_stop and at_us + REACTION_US < stop_us:
                stop_us, moves = at_us + REACTION_US, (0.0, name)
    if moves is None:
        seconds = LONGEST_US / SECOND
        seen = {name: Seen(len(starts), seconds) for name, starts in shown.items()}
        suspects = [name for name in judged if suspicious(control[name], seen[name])]
        moves = min(((p_value(control[name], seen[name]), name) for name in suspects), default=None)
    session.fault.opens += [one for one in openings if one[1] < stop_us]
    for key, spans in wobble.items():
        session.wobble[key] += [one for one in spans if one[1] < stop_us]
    session.steps.append(replace(step, end_us=stop_us))
    session.marks.append(Mark(step.start_us, Deed.FLEX, zone=zone))
    if zone == session.fault.zone:
        session.flexed_us += stop_us - step.start_us
    session.at_us = stop_us
    session.extra_us += STEP_US
    return moves


def p_value(control: Seen, zone: Seen) -> float:
    """How likely chance alone shows so many."""
    return more_often(zone.episodes, zone.seconds, control.episodes, control.seconds)


def left_alone(session: Session, length_us: int = CONTROL_US) -> None:
    """The control."""
    step = Flexing(session.at_us, session.at_us + length_us, None)
    session.marks.append(Mark(session.at_us, Deed.STILL))
    session.steps.append(step)
    for spans in session.wobble.values():
        spans += finger(session.rng, [step])
    session.at_us += length_us
    session.control_us = session.at_us


def hold(session: Session, keys: tuple[str, ...], *, by_finger: bool) -> int:
    """Take hold of keys; since when."""
    session.marks += [Mark(session.at_us - 100_000, Deed.HOLD, key=key) for key in keys]
    session.wobble = {key: [] for key in keys} if by_finger else {}
    return session.at_us


def touches(session: Session, key: str) -> bool:
    """The fault lies on the way through this key."""
    return session.fault.key == key or session.fault.line in session.layout.key_by_id[key].crosspoints[0]


def by_witnesses(session: Session, line: str) -> None:
    """One line through two fingers; where one key alone moved with a zone, its row and column apart by clips in the end."""
    held = witnesses(session.layout, line)
    start_us = hold(session, held.keys, by_finger=True)
    left_alone(session)
    both = {BOTH: session.fault.line == line}
    judged = both | {key: touches(session, key) and not both[BOTH] for key in held.keys}
    found: tuple[float, str, str] | None = None
    for zone in zones_of(session):
        moves = bend(session, zone, judged, stop_for=(BOTH,))
        if moves is not None:
            found = min(found or (1.0, "", ""), (*moves, zone))
            if moves[1] == BOTH:
                break
    watch(session, held, (start_us, session.at_us))
    if found is not None and found[1] != BOTH:
        apart_again(session, found[1], found[2])


def by_hold_set(session: Session) -> None:
    """The whole keyboard through clips, then the suspect key's row and column apart."""
    keys = hold_set(session.layout).keys
    session.extra_us += CLIPS_US
    start_us = hold(session, keys, by_finger=False)
    left_alone(session)
    found: tuple[str, str] | None = None
    for zone in zones_of(session):
        moves = bend(session, zone, {key: touches(session, key) for key in keys})
        if moves is not None:
            found = (moves[1], zone)
            break
    session.presses += [Press(key, start_us - 500_000, session.at_us + 4 * SECOND) for key in keys]
    scanned(session, keys, [key for key in keys if touches(session, key)])
    if found is not None:
        apart_again(session, found[0], found[1])


def apart_again(session: Session, key: str, zone: str) -> None:
    """The row and the column of a key through clips on two others, in the zone that moved it."""
    session.separated.add(key)
    split = separating(session.layout, key)
    assert split is not None
    released = [mark.key for mark in session.marks if mark.do is Deed.HOLD]
    session.marks += [Mark(session.at_us, Deed.STILL), *(Mark(session.at_us, Deed.RELEASE, key=each) for each in released)]
    session.at_us += 5 * SECOND
    session.extra_us += AGAIN_US
    before_us = session.at_us
    hold(session, split.keys, by_finger=False)
    left_alone(session, 5 * SECOND)
    bend(session, zone, {each: touches(session, each) for each in split.keys})
    watch(session, split, (before_us, session.at_us))


def watch(session: Session, held: Witnesses, span: Span) -> None:
    """What a board that watches says of the pairs of some held keys."""
    lists: list[list[Span]] = []
    for number, key in enumerate(held.keys):
        own = session.fault.opens if touches(session, key) else []
        late = [(start + 2 * number, end + number) for start, end in own if start >= span[0]]
        lists.append([one for one in apart([*late, *session.wobble.get(key, [])]) if one[1] < span[1]])
    session.last_pairs, session.last_openings, session.last_span = held.pairs, tuple(lists), span
    log = WatchLog(session.layout, plain_wiring(session.layout))
    lines = plain_wiring(session.layout).board_line
    log.feed(WatchBegan(span[0], tuple((lines[sensed], lines[driven]) for sensed, driven in held.pairs), True))
    places = [0, 0]
    totals = [0, 0]
    at_us = span[0] + 10
    while at_us <= span[1]:
        bits = 0
        for pair, openings in enumerate(lists):
            ended = []
            while places[pair] < len(openings) and openings[places[pair]][1] <= at_us:
                start, end = openings[places[pair]]
                ended.append(WatchedOpening(pair, start, end - start))
                totals[pair] += end - start
                places[pair] += 1
            if ended:
                log.feed(WatchOpenings(tuple(ended)))
            if places[pair] == len(openings) or openings[places[pair]][0] > at_us:
                bits |= 1 << pair
        log.feed(WatchCounts(at_us, bits, (places[0], places[1]), (totals[0], totals[1]), 0, 0, 1000))
        at_us += WATCHED_US
    session.watches.append(log)


def scanned(session: Session, keys: tuple[str, ...], hit: list[str]) -> None:
    """Openings as a matrix scan reads them: each pair twice a scan, at two moments of it."""
    first, second = sorted(session.rng.sample(range(SCAN_US), 2))
    for start, end in session.fault.opens:
        opened, closed = sample(start, first, second), sample(end, first, second)
        if opened < closed:
            kept = tuple(sorted(set(keys) - set(hit))) if closed - opened >= 2 * SCAN_US else ()
            session.dropouts.append(Dropout(opened, closed, tuple(sorted(hit)), kept))


def sample(at_us: int, *phases: int) -> int:
    """The first moment from at_us on at which a pair is read."""
    return min(at_us + (phase - at_us) % SCAN_US for phase in phases)
