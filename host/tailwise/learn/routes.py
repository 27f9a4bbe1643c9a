"""Proposes routes from the drawing, for a person to correct: nobody's film was looked at, so they are marked as assumed.

Idea. Traces are printed short: from the tail each line goes to its nearest key, then on to the nearest not yet reached, by
distance along the axes. One key unit is 19 mm (common practice for full-size keyboards).
"""

from __future__ import annotations

from tailwise.model.layout import Layout, RouteStop

UNIT_MM = 19.0


def propose_routes(layout: Layout, tail_at: tuple[float, float]) -> dict[str, tuple[RouteStop, ...]]:
    """A chain for each line, begun at the tail's place on the drawing (key units); lengths in mm, whole."""
    centre = {
        key.id: (key.position.x + key.position.width / 2, key.position.y + key.position.height / 2) for key in layout.keys
    }
    routes = {}
    for line in layout.lines:
        waiting = list(layout.keys_on[line])
        at, origin = tail_at, None
        stops: list[RouteStop] = []
        while waiting:
            distance, key = min((abs(centre[key][0] - at[0]) + abs(centre[key][1] - at[1]), key) for key in waiting)
            stops.append(RouteStop(key, origin, float(round(distance * UNIT_MM))))
            waiting.remove(key)
            at, origin = centre[key], key
        if stops:
            routes[line] = tuple(stops)
    return routes
