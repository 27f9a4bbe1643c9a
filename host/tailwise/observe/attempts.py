"""Presses the operator vouches for: seen, landed elsewhere, silent, or not to be known.

A press mark says that its key was pressed once before the next mark. Silent needs a clear view: no blind stretch long
enough to hide a press, the key's crosspoint not read closed through others, and time enough for a press.
"""

from __future__ import annotations

from bisect import bisect_left

from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Attempt, AttemptResult, Blind, Pair
from tailwise.observe.contacts import Contact
from tailwise.observe.presses import Closure
from tailwise.observe.reading import Duo, duo_of
from tailwise.observe.thresholds import EARLY_MARK_US, HIDES_A_PRESS_US
from tailwise.observe.tracker import Tracker


def attempts_of(
    marks: tuple[Mark, ...], closures: list[Closure], names: list[tuple[str, ...]], tracker: Tracker, layout: Layout
) -> tuple[Attempt, ...]:
    """One attempt for each press mark of a key that the layout has and a line reaches, in order of time."""
    blind = tuple(Blind(*stretch) for stretch in tracker.blind)
    reachable = {key.id for key in layout.keys if key.crosspoints}
    windows = [
        (mark, marks[at + 1] if at + 1 < len(marks) else Mark(tracker.end_us, Deed.NOTE))
        for at, mark in enumerate(marks)
        if mark.do is Deed.PRESS and mark.key in reachable
    ]
    place = {line: number for number, line in enumerate(layout.lines)}
    starts = [closure.start_us for closure in closures]
    strange = _unexplained(tracker, layout)
    found = []
    for mark, following in windows:
        end = max(mark.at_us, min(following.at_us, tracker.end_us))
        key = layout.key_by_id[mark.key or ""]
        duos = frozenset(duo_of(place[row], place[column]) for row, column in key.crosspoints)
        first, past = bisect_left(starts, mark.at_us - EARLY_MARK_US), bisect_left(starts, end)
        seen = [
            (closures[at], _pair(closures[at].duo, layout), names[at])
            for at in range(first, past)
            if following.key == key.id or following.key not in names[at] or starts[at] < following.at_us - EARLY_MARK_US
        ]
        result, landed = _result(mark, end, duos, seen, tracker, strange, blind)
        found.append(Attempt(key.id, mark.at_us, end, result, landed))
    return tuple(found)


def _result(
    mark: Mark,
    end_us: int,
    duos: frozenset[Duo],
    seen: list[tuple[Closure, Pair, tuple[str, ...]]],
    tracker: Tracker,
    strange: list[tuple[int, Pair]],
    blind: tuple[Blind, ...],
) -> tuple[AttemptResult, tuple[Pair, ...]]:
    start = mark.at_us
    mine = [closure for closure, _, keys in seen if mark.key in keys]
    if any(each.certain for each in mine):
        return AttemptResult.SEEN, ()
    if mine or any(_closed_between(tracker.contacts.get(duo), start, end_us) for duo in duos):
        return AttemptResult.UNKNOWN, ()
    hidden = any(min(each.end_us, end_us) - max(each.start_us, start) >= HIDES_A_PRESS_US for each in blind)
    if hidden or end_us - start < HIDES_A_PRESS_US:
        return AttemptResult.UNKNOWN, ()
    landed = {pair for closure, pair, _ in seen if closure.certain and closure.start_us >= start}
    landed |= {pair for at_us, pair in strange if start <= at_us < end_us}
    if landed:
        return AttemptResult.ELSEWHERE, tuple(sorted(landed))
    return AttemptResult.SILENT, ()


def _closed_between(contact: Contact | None, start_us: int, end_us: int) -> bool:
    if contact is None:
        return False
    return any(
        draft.start_us < end_us and (draft.open_since_us is None or draft.open_since_us > start_us) for draft in contact.drafts
    )


def _unexplained(tracker: Tracker, layout: Layout) -> list[tuple[int, Pair]]:
    """Beginnings of readings between lines no key joins that nothing explains."""
    return [
        (draft.start_us, _pair(duo, layout))
        for duo, contact in tracker.contacts.items()
        if duo not in tracker.reader.key_duos
        for draft in contact.drafts
        if draft.settled and draft.strange
    ]


def _pair(duo: Duo, layout: Layout) -> Pair:
    return layout.lines[duo[0]], layout.lines[duo[1]]
