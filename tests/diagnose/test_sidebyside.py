"""Which lines run side by side on a sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import combinations

import pytest

from tailwise.diagnose.components import Components
from tailwise.diagnose.engine import diagnose
from tailwise.diagnose.priors import DEFAULT_PRIORS
from tailwise.diagnose.sidebyside import SIDE_BY_SIDE_UNITS, side_by_side
from tailwise.model.layout import Position, RouteStop
from tests.diagnose.worlds import Script, demo


def _moved(offsets: Mapping[str, tuple[float, float]]) -> float | None:
    """Distance of two lines with routes A-S (R5) and 1-2 (R1) placed at will, key centres given."""
    layout = demo().layout
    keys = tuple(
        replace(key, position=Position(offsets[key.id][0] - 0.5, offsets[key.id][1] - 0.5)) if key.id in offsets else key
        for key in layout.keys
    )
    routes: dict[str, tuple[RouteStop, ...]] = {
        "R5": (RouteStop("S", None, None), RouteStop("D", "S", None)),
        "R1": (RouteStop("1", None, None), RouteStop("2", "1", None)),
    }
    found = side_by_side(replace(layout, keys=keys, routes=routes), "R1", "R5")
    return None if found is None else found.units


@pytest.mark.parametrize(
    ("places", "units"),
    [
        ({"S": (0, 0), "D": (4, 0), "1": (0, 1), "2": (4, 1)}, 1.0),
        ({"S": (0, 0), "D": (4, 0), "1": (2, -2), "2": (2, 2)}, 0.0),
        ({"S": (0, 0), "D": (3, 0), "1": (3.6, 0.8), "2": (9, 5)}, 1.0),
        ({"S": (0, 0), "D": (4, 0), "1": (0, 3), "2": (4, 3)}, None),
    ],
)
def test_distance_of_two_routes(places: Mapping[str, tuple[float, float]], units: float | None) -> None:
    """Plane geometry: parallel, crossing, end to end (0.6, 0.8, 1.0 is a right triangle), too far."""
    assert _moved(places) == (None if units is None else pytest.approx(units))


def test_only_lines_of_one_sheet_and_only_with_routes() -> None:
    layout = demo().layout
    found = {pair: side_by_side(layout, *pair) for pair in combinations(layout.lines, 2)}
    close = {pair: spot for pair, spot in found.items() if spot is not None}
    rows = set(layout.rows)
    assert close
    assert all(len(rows & set(pair)) in (0, 2) for pair in close)
    assert all(spot.units <= SIDE_BY_SIDE_UNITS for spot in close.values())
    unknown = replace(layout, routes=None)
    assert all(side_by_side(unknown, *pair) is None for pair in close)


def test_the_tail_counts_more_than_the_sheet_and_that_more_than_neither() -> None:
    parts = Components(demo().layout)
    pairs = [frozenset(pair) for pair in combinations(parts.layout.rows, 2) if frozenset(pair) not in parts.neighbours]
    beside = next(pair for pair in pairs if side_by_side(parts.layout, *sorted(pair)))
    tail, far = frozenset(("R1", "R2")), frozenset(("R1", "C6"))
    chances = [parts.short_chance(pair, DEFAULT_PRIORS) for pair in (tail, beside, far)]
    assert chances == sorted(chances, reverse=True)
    assert len(set(chances)) == 3


def test_a_short_says_where_to_look() -> None:
    layout = demo().layout
    one, two = next(pair for pair in combinations(layout.rows, 2) if side_by_side(layout, *pair))
    (finding,) = diagnose(Script(demo()).walk().join(one, two).observations())
    assert any("come closest near" in sentence for sentence in finding.evidence)
