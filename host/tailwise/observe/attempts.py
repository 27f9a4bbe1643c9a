"""Presses the operator vouches for: seen, landed elsewhere, silent, or not to be known.

A press mark says that its key was pressed once before the next mark. Silent needs a clear view: no blind stretch long
enough to hide a press, the key's crosspoint not read closed through others, and time enough for a press.
"""

from __future__ import annotations

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
    """One attempt for each press mark that names a key of the layout, in order of time."""
    blind = tuple(Blind(*stretch) for stretch in tracker.blind)
    windows = [
        (mark, marks[at + 1].at_us if at + 1 < len(marks) else tracker.end_us)
        for at, mark in enumerate(marks)
        if mark.do is Deed.PRESS and mark.key in layout.key_by_id
    ]
    place = {line: number for number, line in enumerate(layout.lines)}
    found = []
    for mark, end in windows:
        key = layout.key_by_id[mark.key or ""]
        duos = frozenset(duo_of(place[row], place[column]) for row, column in key.crosspoints)
        result, landed = _result(mark, min(end, tracker.end_us), duos, closures, names, tracker, layout, blind)
        found.append(Attempt(key.id, mark.at_us, min(end, tracker.end_us), result, landed))
    return tuple(found)


def _result(
    mark: Mark,
    end_us: int,
    duos: frozenset[Duo],
    closures: list[Closure],
    names: list[tuple[str, ...]],
    tracker: Tracker,
    layout: Layout,
    blind: tuple[Blind, ...],
) -> tuple[AttemptResult, tuple[Pair, ...]]:
    start = mark.at_us
    mine = [
        each
        for each, keys in zip(closures, names, strict=True)
        if mark.key in keys and start - EARLY_MARK_US <= each.start_us < end_us
    ]
    if any(each.certain for each in mine):
        return AttemptResult.SEEN, ()
    if mine or any(_closed_between(tracker.contacts.get(duo), start, end_us) for duo in duos):
        return AttemptResult.UNKNOWN, ()
    landed = sorted(
        {_pair(each.duo, layout) for each in closures if each.certain and start <= each.start_us < end_us}
        | _unexplained_between(tracker, start, end_us, layout)
    )
    if landed:
        return AttemptResult.ELSEWHERE, tuple(landed)
    hidden = any(min(each.end_us, end_us) - max(each.start_us, start) >= HIDES_A_PRESS_US for each in blind)
    if hidden or end_us - start < HIDES_A_PRESS_US:
        return AttemptResult.UNKNOWN, ()
    return AttemptResult.SILENT, ()


def _closed_between(contact: Contact | None, start_us: int, end_us: int) -> bool:
    if contact is None:
        return False
    return any(
        draft.start_us < end_us and (draft.open_since_us is None or draft.open_since_us > start_us) for draft in contact.drafts
    )


def _unexplained_between(tracker: Tracker, start_us: int, end_us: int, layout: Layout) -> set[Pair]:
    return {
        _pair(duo, layout)
        for duo, contact in tracker.contacts.items()
        if duo not in tracker.reader.key_duos
        for draft in contact.drafts
        if draft.settled and draft.unexplained and start_us <= draft.start_us < end_us
    }


def _pair(duo: Duo, layout: Layout) -> Pair:
    return layout.lines[duo[0]], layout.lines[duo[1]]
