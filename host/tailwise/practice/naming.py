"""What a finding calls a fault: lines, keys and place filled in from the layout."""

from __future__ import annotations

from tailwise.model.fault import Fault, FaultKind, Place, Steadiness
from tailwise.model.layout import Layout

WHOLE_LINES = frozenset({FaultKind.OPEN_LINE, FaultKind.CRACKED_TAIL, FaultKind.INTERMITTENT_LINE})
ONE_KEY = frozenset(
    {
        FaultKind.DEAD_CONTACT,
        FaultKind.WEAK_CONTACT,
        FaultKind.BOUNCING_CONTACT,
        FaultKind.INTERMITTENT_CONTACT,
        FaultKind.STUCK_CONTACT,
    }
)
STRETCHES = frozenset({FaultKind.BROKEN_TRACE, FaultKind.WEAK_LINE})
_COMING_AND_GOING = frozenset({FaultKind.INTERMITTENT_LINE, FaultKind.INTERMITTENT_CONTACT})


def keys_beyond(layout: Layout, line: str, before: str) -> tuple[str, ...]:
    """The keys of a line that lose their way to the tail where the stretch up to `before` breaks, sorted."""
    lost = {before}
    for stop in (layout.routes or {}).get(line, ()):
        if stop.origin in lost:
            lost.add(stop.key)
    points = {frozenset(point) for key in lost for point in layout.key_by_id[key].crosspoints if line in point}
    return tuple(sorted(lost | {key for point in points for key in layout.keys_at[point]}))


def stretch_up_to(layout: Layout, line: str, before: str) -> Place | None:
    """The stretch of a line's route that leads up to a key; None where the route does not visit it."""
    for stop in (layout.routes or {}).get(line, ()):
        if stop.key == before:
            return Place(line, stop.origin, before)
    return None


def name_fault(
    layout: Layout,
    kind: FaultKind,
    lines: tuple[str, ...] = (),
    keys: tuple[str, ...] = (),
    before: str | None = None,
    intermittent: bool = False,
) -> Fault:
    """The fault as a finding names it; `lines` and `keys` stand as given where the layout says nothing better.

    ValueError where the kind needs a line, a key or a stretch that is not there.
    """
    place: Place | None = None
    if kind in WHOLE_LINES and lines:
        keys = tuple(key for line in lines for key in layout.keys_on[line])
        route = (layout.routes or {}).get(lines[0], ())
        if len(lines) == 1 and route:
            place = Place(lines[0], None, route[0].key)
    elif kind in STRETCHES and before is not None:
        place = stretch_up_to(layout, lines[0], before)
        if place is None:
            raise ValueError(f"the route of {lines[0]} does not visit {before}")
        keys = keys or keys_beyond(layout, lines[0], before)
    elif kind is FaultKind.STUCK_CONTACT and keys and not lines:
        lines = layout.key_by_id[keys[0]].crosspoints[0]
    if kind in ONE_KEY and len(keys) != 1:
        raise ValueError(f"{kind.value} needs one key")
    if kind is FaultKind.BROKEN_TRACE and place is None:
        raise ValueError("broken_trace needs `line` and the key `before` which it is broken")
    steadiness = Steadiness.INTERMITTENT if intermittent or kind in _COMING_AND_GOING else Steadiness.STEADY
    return Fault(kind, tuple(sorted(set(lines))), tuple(sorted(set(keys))), place, steadiness)
