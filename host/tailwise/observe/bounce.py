"""Splits one closed stretch into make bounce, dropouts and break bounce.

Make bounce runs from the first closure to the last re-opening after it, break bounce from the first opening to the last
re-closure before rest (ASTM F1661-09); zero where there is no such reversal. The bounce at either end takes in every
opening within `BOUNCE_SPAN_US` of that end, and goes on as long as the contact stays closed for less than
`BOUNCE_QUIET_US` between two openings; an opening beyond that is a dropout.
"""

from __future__ import annotations

from dataclasses import dataclass

from tailwise.observe.drafts import Draft, Opening
from tailwise.observe.thresholds import BOUNCE_QUIET_US, BOUNCE_SPAN_US


@dataclass(frozen=True, slots=True)
class Split:
    """end_us None: still closed. Bounces in microseconds; hidden openings are in neither part."""

    end_us: int | None
    make_us: int
    break_us: int
    dropouts: tuple[Opening, ...]


def split(draft: Draft, now_us: int) -> Split:
    """Split a draft as it stands at now_us; an end that lay in a blind stretch has bounce of unknown length, told as 0."""
    end_us = draft.open_since_us
    inner = [opening for opening in draft.openings if opening.end_us is not None]
    ended_blind = end_us is not None and draft.openings[-1].hidden
    first, make_us = 0, 0
    last_closed = draft.start_us
    while first < len(inner) and _bounces(inner[first], last_closed, draft.start_us):
        make_us = 0 if draft.begun_blind else inner[first].start_us - draft.start_us
        last_closed = inner[first].end_us or 0
        first += 1
    past, break_us = len(inner), 0
    upper = now_us if end_us is None else end_us
    last_us = upper
    while past > first:
        closed_us = inner[past - 1].end_us or 0
        if upper - closed_us >= BOUNCE_QUIET_US and last_us - closed_us >= BOUNCE_SPAN_US:
            break
        past -= 1
        upper = inner[past].start_us
        if end_us is not None and not ended_blind:
            break_us = (inner[-1].end_us or 0) - inner[past].start_us
    if any(start - draft.start_us <= make_us for start, _ in draft.veils):
        make_us = 0
    dropouts = tuple(opening for opening in inner[first:past] if opening.sure and not _doubtful(opening, draft))
    return Split(end_us, make_us, break_us, dropouts)


def _doubtful(opening: Opening, draft: Draft) -> bool:
    """Near or in a blind stretch the key may have been let go and pressed again: what looks inside a press may be bounce."""
    if opening.hidden:
        return True
    return any(
        opening.start_us < end + BOUNCE_SPAN_US and (opening.end_us or 0) > start - BOUNCE_SPAN_US for start, end in draft.veils
    )


def _bounces(opening: Opening, last_closed_us: int, first_us: int) -> bool:
    if opening.hidden:
        return False
    return opening.start_us - last_closed_us < BOUNCE_QUIET_US or opening.start_us - first_us < BOUNCE_SPAN_US
