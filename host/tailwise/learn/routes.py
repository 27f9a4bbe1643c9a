"""Proposes routes from the drawing, for a person to correct: nobody's film was looked at, so they are marked as assumed.

Idea. Traces are printed short: from the tail each line goes to its nearest key, then on to the nearest not yet reached, by
distance along the axes. One key unit is 19 mm (common practice for full-size keyboards).
"""

from __future__ import annotations

from tailwise.model.layout import Layout, RouteStop

UNIT_MM = 19.0

TAIL_PLACES: dict[str, tuple[float, float]] = {
    "top, in the middle": (0.5, 0.0),
    "top, at the left": (0.1, 0.0),
    "top, at the right": (0.9, 0.0),
    "left side": (0.0, 0.5),
    "right side": (1.0, 0.5),
    "bottom, at the left": (0.1, 1.0),
    "bottom, in the middle": (0.5, 1.0),
    "bottom, at the right": (0.9, 1.0),
}
"""Where a tail may leave the film, as shares of the drawing's width and height."""


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


class RouteDraft:
    """Proposed routes while a person corrects them: one list of keys a line, from the tail outwards."""

    def __init__(self, layout: Layout, place: str = "top, in the middle") -> None:
        """place: one of TAIL_PLACES."""
        self.layout = layout
        self.place = place
        self.corrected: set[str] = set()
        self.orders: dict[str, list[str]] = {}
        self._propose()

    def next_place(self) -> None:
        """The tail leaves elsewhere: the lines nobody corrected are proposed anew."""
        places = list(TAIL_PLACES)
        self.place = places[(places.index(self.place) + 1) % len(places)]
        self._propose()

    def move(self, line: str, at: int, by: int) -> int:
        """Move a key of a line towards the tail (by -1) or away from it (by 1); where it stands then."""
        order = self.orders[line]
        to = at + by
        if not (0 <= at < len(order) and 0 <= to < len(order)):
            return at
        order.insert(to, order.pop(at))
        self.corrected.add(line)
        return to

    def routes(self) -> dict[str, tuple[RouteStop, ...]]:
        """The routes as they stand, each stretch with its length along the axes."""
        return {line: _chain(self.layout, order, self._tail_at()) for line, order in self.orders.items()}

    def _propose(self) -> None:
        for line, stops in propose_routes(self.layout, self._tail_at()).items():
            if line not in self.corrected:
                self.orders[line] = [stop.key for stop in stops]

    def _tail_at(self) -> tuple[float, float]:
        spots = [key.position for key in self.layout.keys]
        left, top = min(spot.x for spot in spots), min(spot.y for spot in spots)
        wide = max(spot.x + spot.width for spot in spots) - left
        high = max(spot.y + spot.height for spot in spots) - top
        across, down = TAIL_PLACES[self.place]
        return left + across * wide, top + down * high


def _chain(layout: Layout, order: list[str], tail_at: tuple[float, float]) -> tuple[RouteStop, ...]:
    stops, at, origin = [], tail_at, None
    for key in order:
        spot = layout.key_by_id[key].position
        centre = (spot.x + spot.width / 2, spot.y + spot.height / 2)
        stops.append(RouteStop(key, origin, float(round((abs(centre[0] - at[0]) + abs(centre[1] - at[1])) * UNIT_MM))))
        at, origin = centre, key
    return tuple(stops)
