"""Lines that read joined with nothing pressed, and readings no key explains.

During the rest check every closed pair belongs here, explained by others or not: nothing should be closed. Later only
pairs that no key joins and no path through other closed contacts explains. Partner lines of two held keys that stay
joined while their common line is lost were explained before: the bridge through the film, not a short. Where nobody holds
keys, no such bridge lasts: lines that stay joined for `_STAYS_US` after the keys that explained it are joined.
"""

from __future__ import annotations

from tailwise.model.layout import Layout
from tailwise.model.mark import Mark
from tailwise.model.observation import Joined, Pair
from tailwise.observe.drafts import Draft
from tailwise.observe.holding import held_at
from tailwise.observe.reading import Duo
from tailwise.observe.thresholds import REST_BLIND_MAX_US, REST_US
from tailwise.observe.tracker import Tracker

_STAYS_US = 3_000_000
"""no press lasts as long (this tool's own rule; presses last 116 ms on average)"""


def rest_done(tracker: Tracker) -> bool:
    """True when the first two seconds were scanned, but for `REST_BLIND_MAX_US` at most."""
    blind = sum(max(0, min(end, REST_US) - start) for start, end, _ in tracker.blind if start < REST_US)
    return tracker.end_us >= REST_US and blind <= REST_BLIND_MAX_US


def joined_of(
    tracker: Tracker, layout: Layout, directions: frozenset[tuple[int, int]], marks: tuple[Mark, ...] = ()
) -> tuple[Joined, ...]:
    """All such readings, in order of time."""
    found = []
    for duo, contact in tracker.contacts.items():
        both = duo in directions and (duo[1], duo[0]) in directions
        for draft in contact.drafts:
            start, end = draft.start_us, tracker.end_us if draft.open_since_us is None else draft.open_since_us
            if not draft.settled:
                continue
            if not (_at_rest(draft) or _unexplained(draft, duo, tracker)):
                start, end = draft.longest_left(end)
                if duo in tracker.reader.key_duos or end - start < _STAYS_US or held_at(marks, start):
                    continue
            found.append(
                Joined(
                    lines=_names(duo, layout),
                    start_us=start,
                    end_us=end,
                    steady=_steady(draft, tracker.end_us),
                    one_way=both and draft.ways in (1, 2),
                )
            )
    return tuple(sorted(found, key=lambda each: (each.start_us, each.lines)))


def elsewhere_of(tracker: Tracker, layout: Layout) -> tuple[Pair, ...]:
    """Rows and columns that read joined after the rest check where no key stands and nothing explains it."""
    rows, columns = set(layout.rows), set(layout.columns)
    found = set()
    for duo, contact in tracker.contacts.items():
        one, other = _names(duo, layout)
        if one in rows and other in columns:
            for draft in contact.drafts:
                if draft.settled and not _at_rest(draft) and _unexplained(draft, duo, tracker):
                    found.add((one, other))
    return tuple(sorted(found))


def _at_rest(draft: Draft) -> bool:
    return draft.from_start or draft.start_us < REST_US


def _unexplained(draft: Draft, duo: Duo, tracker: Tracker) -> bool:
    return duo not in tracker.reader.key_duos and draft.strange


def _steady(draft: Draft, now_us: int) -> bool:
    if not draft.from_start or now_us < REST_US:
        return False
    return all(opening.start_us >= REST_US for opening in draft.openings)


def _names(duo: Duo, layout: Layout) -> Pair:
    return layout.lines[duo[0]], layout.lines[duo[1]]
