"""Millimetres from the tail to a stretch of a route: the sums of the layout's lengths along the way."""

from __future__ import annotations

from tailwise.model.fault import Place
from tailwise.model.layout import Layout


def reach_mm(layout: Layout, line: str, key: str | None) -> float | None:
    """Trace from the tail to a key of a line; 0 for the tail itself, None where a length is unknown."""
    if key is None:
        return 0.0
    stops = {stop.key: stop for stop in (layout.routes or {}).get(line, ())}
    total = 0.0
    at: str | None = key
    for _ in range(len(stops) + 1):
        if at is None:
            return total
        stop = stops.get(at)
        if stop is None or stop.mm is None:
            return None
        total += stop.mm
        at = stop.origin
    return None


def distance_mm(layout: Layout, place: Place | None) -> tuple[float, float, float] | None:
    """Low, best and high distance of a break from the tail: the ends of its stretch and their middle."""
    if place is None or place.before is None:
        return None
    low = reach_mm(layout, place.line, place.after)
    high = reach_mm(layout, place.line, place.before)
    if low is None or high is None or high < low:
        return None
    return (round(low, 1), round((low + high) / 2, 1), round(high, 1))
