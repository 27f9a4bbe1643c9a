"""Closed stretches of pairs to presses of keys and to dropouts.

An opening ends a press once it lasts `RELEASE_US`. Longer openings are still inside one press where several keys of one
line open within a scan of each other and close again within a scan (fingers do not do that), or where a mark says that
the key is held; both together allow the longest.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, replace

from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Dropout
from tailwise.observe.bounce import split
from tailwise.observe.reading import Duo
from tailwise.observe.thresholds import BENT_US, REUNITE_US, settle_us
from tailwise.observe.tracker import Tracker

_SLOWEST_REUNITED_US = 5_000


@dataclass(frozen=True, slots=True)
class Gap:
    """An opening inside a closure, microseconds."""

    start_us: int
    end_us: int


@dataclass(frozen=True, slots=True)
class Closure:
    """One closed stretch of a crosspoint, dropouts inside it."""

    duo: Duo
    start_us: int
    end_us: int | None
    frame: int
    certain: bool
    make_us: int
    break_us: int
    ways: int
    dropouts: tuple[Gap, ...]
    ended_blind: bool
    begun_blind: bool


def closures_of(tracker: Tracker) -> list[Closure]:
    """Every closed stretch of a crosspoint that stood for a whole scan, in order of time; those from the start left out."""
    found = []
    for duo in tracker.reader.key_duos:
        contact = tracker.contacts.get(duo)
        for draft in contact.drafts if contact is not None else ():
            if draft.from_start or not draft.settled:
                continue
            parts = split(draft, tracker.end_us)
            gaps = tuple(Gap(each.start_us, each.end_us or 0) for each in parts.dropouts)
            found.append(
                Closure(
                    duo, draft.start_us, parts.end_us, draft.frame, draft.certain, parts.make_us, parts.break_us,
                    draft.ways, gaps, bool(draft.openings and draft.openings[-1].hidden), draft.begun_blind,
                )
            )  # fmt: skip
    return sorted(found, key=lambda each: (each.start_us, each.duo))


def reunite(closures: list[Closure], layout: Layout, marks: tuple[Mark, ...], scan_us: int) -> list[Closure]:
    """Join closures that are one press with a long opening in it."""
    window = settle_us(scan_us)
    holds = _holds(marks)
    next_of: dict[int, int] = {}
    last: dict[Duo, int] = {}
    for index, closure in enumerate(closures):
        before = last.get(closure.duo)
        if before is not None and _may_join(closures[before], closure):
            next_of[before] = index
        last[closure.duo] = index
    order = sorted(next_of, key=lambda index: (closures[index].end_us or 0, index))
    joined: set[int] = set()
    held = {one for one in order if _held(closures[one], closures[next_of[one]], layout, holds)}
    long = {one for one in order if closures[next_of[one]].start_us - (closures[one].end_us or 0) > REUNITE_US}
    for at, one in enumerate(order):
        if one in held - long:
            joined.add(one)
        for other in order[at + 1 :]:
            if (closures[other].end_us or 0) - (closures[one].end_us or 0) > window:
                break
            back = abs(closures[next_of[other]].start_us - closures[next_of[one]].start_us)
            shares = set(closures[one].duo) & set(closures[other].duo)
            may = held >= {one, other} or not long & {one, other}
            if may and window <= _SLOWEST_REUNITED_US and back <= 2 * window and len(shares) == 1:
                joined |= {one, other}
    for index in sorted(joined, reverse=True):
        closures[index] = _join(closures[index], closures[next_of[index]])
    gone = {next_of[index] for index in joined}
    return [closure for index, closure in enumerate(closures) if index not in gone]


def _may_join(one: Closure, other: Closure) -> bool:
    if one.end_us is None or one.ended_blind or other.begun_blind or not (one.certain and other.certain):
        return False
    return other.start_us - one.end_us <= BENT_US


def _join(one: Closure, other: Closure) -> Closure:
    gap = Gap((one.end_us or 0) - one.break_us, other.start_us)
    return replace(
        one, end_us=other.end_us, break_us=other.break_us, ended_blind=other.ended_blind, ways=one.ways | other.ways,
        dropouts=(*one.dropouts, gap, *other.dropouts),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Hold:
    """A key that marks say is held from start_us to end_us (None: to the end)."""

    key: str
    start_us: int
    end_us: int | None


def _holds(marks: tuple[Mark, ...]) -> list[_Hold]:
    found = []
    for at, mark in enumerate(marks):
        if mark.do is Deed.HOLD and mark.key is not None:
            over = (each.at_us for each in marks[at + 1 :] if each.key == mark.key)
            found.append(_Hold(mark.key, mark.at_us, next(over, None)))
    return found


def _held(one: Closure, other: Closure, layout: Layout, holds: list[_Hold]) -> bool:
    keys = layout.keys_at.get(frozenset((layout.lines[one.duo[0]], layout.lines[one.duo[1]])), ())
    return any(
        hold.key in keys and hold.start_us <= (one.end_us or 0) and (hold.end_us is None or hold.end_us > other.start_us)
        for hold in holds
    )


def dropouts_of(closures: list[Closure], names: list[tuple[str, ...]], tracker: Tracker, scan_us: int) -> list[Dropout]:
    """Openings inside presses, those that began within one scan of each other taken together.

    Each pair is read at its own moments of a scan. Only an opening that reads two scans long was surely there for one
    whole scan, so that every other held key was read in it; shorter ones say nothing of the others.
    """
    window = settle_us(scan_us)
    singles = sorted((gap.start_us, gap.end_us, at) for at, each in enumerate(closures) for gap in each.dropouts)
    found: list[Dropout] = []
    starts = [closure.start_us for closure in closures]
    longest = max(((each.end_us or tracker.end_us) - each.start_us for each in closures), default=0)
    first = 0
    while first < len(singles):
        start = singles[first][0]
        past = first + 1
        owners = {singles[first][2]}
        while past < len(singles) and singles[past][0] - start <= window and singles[past][2] not in owners:
            owners.add(singles[past][2])
            past += 1
        end = max(single[1] for single in singles[first:past])
        lost = sorted({key for at in owners for key in names[at]})
        watched = end - start >= 2 * scan_us
        near = range(bisect_left(starts, start - longest), bisect_right(starts, start) if watched else 0)
        kept = {key for at in near if at not in owners and _covers(closures[at], start, end) for key in names[at]}
        bridged = watched and _bridged([closures[at].duo for at in sorted(owners)], start, end, tracker)
        if lost:
            found.append(Dropout(start, end, tuple(lost), tuple(sorted(kept.difference(lost))), bridged))
        first = past
    return found


def _covers(closure: Closure, start_us: int, end_us: int) -> bool:
    if not closure.certain or closure.start_us + closure.make_us > start_us:
        return False
    if closure.end_us is not None and closure.end_us - closure.break_us < end_us:
        return False
    return all(gap.end_us <= start_us or gap.start_us >= end_us for gap in closure.dropouts)


def _bridged(lost: list[Duo], start_us: int, end_us: int, tracker: Tracker) -> bool:
    """True where the partner lines of two lost keys stayed joined through the film while both read open."""
    for at, one in enumerate(lost):
        for other in lost[at + 1 :]:
            partners = sorted(set(one) ^ set(other))
            if len(partners) != 2:
                continue
            contact = tracker.contacts.get((partners[0], partners[1]))
            for draft in contact.drafts if contact is not None else ():
                until = draft.open_since_us
                inside = draft.start_us <= start_us and (until is None or until >= end_us)
                if inside and not any(each.start_us < end_us and (each.end_us or end_us) > start_us for each in draft.openings):
                    return True
    return False
