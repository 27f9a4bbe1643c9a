"""What holds for every shipped layout: it loads, it can be drawn on a small screen, it says where its facts come from."""

from __future__ import annotations

import itertools
from math import floor

import pytest

from tailwise.layoutfile.library import find_layout, shipped_ids
from tailwise.model.layout import KeyboardKind
from tailwise.practice.catalogue import list_scenarios

REAL = [name for name in shipped_ids() if not name.startswith("demo-")]
SCREEN_COLUMNS, SCREEN_LINES = 80, 20  # 24 lines less a title, a prompt and a footer


def test_at_least_two_dozen_real_keyboards() -> None:
    assert len(REAL) >= 24


@pytest.mark.parametrize("layout_id", shipped_ids())
def test_the_id_is_the_name_of_the_file(layout_id: str) -> None:
    assert find_layout(layout_id).id == layout_id


@pytest.mark.parametrize("layout_id", shipped_ids())
def test_it_can_be_drawn_on_a_small_screen(layout_id: str) -> None:
    """Keys scaled to 80 columns keep two cells or more each and share none."""
    places = [key.position for key in find_layout(layout_id).keys]
    left, top = min(place.x for place in places), min(place.y for place in places)
    wide = max(place.x + place.width for place in places) - left
    high = max(place.y + place.height for place in places) - top
    across, down = SCREEN_COLUMNS / wide, min(SCREEN_LINES / high, 3.0)
    taken: set[tuple[int, int]] = set()
    for place in places:
        x, y = place.x - left, place.y - top
        columns = range(floor(x * across + 1e-9), floor((x + place.width) * across + 1e-9))
        lines = range(floor(y * down + 1e-9), floor((y + place.height) * down + 1e-9))
        cells = set(itertools.product(columns, lines))
        assert len(columns) >= 2 and lines
        assert not cells & taken
        taken |= cells


@pytest.mark.parametrize("layout_id", REAL)
def test_every_matrix_names_what_it_was_compared_with(layout_id: str) -> None:
    layout = find_layout(layout_id)
    matrix = [source for source in layout.sources if "matrix" in source.facts]
    assert matrix and all(source.checked_against for source in matrix)


@pytest.mark.parametrize("layout_id", REAL)
def test_assumed_routes_say_so(layout_id: str) -> None:
    layout = find_layout(layout_id)
    if layout.routes is not None:
        assert layout.routes_assumed
        assert all(stop.mm is None for stops in layout.routes.values() for stop in stops)
        assert set(layout.routes) == {line for line in layout.lines if layout.keys_on[line] and line not in layout.singles}


def test_six_film_keyboards_carry_routes() -> None:
    with_routes = [name for name in REAL if find_layout(name).routes is not None]
    assert len(with_routes) >= 6
    assert all(find_layout(name).kind is KeyboardKind.FILM for name in with_routes)


def test_the_lines_fit_a_harness() -> None:
    """A board has 40 lines at most (protocol.yaml, max_lines)."""
    assert all(len(find_layout(name).lines) <= 40 for name in REAL)


def test_six_film_keyboards_have_a_broken_trace_to_practise_on() -> None:
    faulty = {each["layout"] for each in list_scenarios() for fault in each["expect"] if fault["kind"] == "broken_trace"}
    practised = [name for name in REAL if name in faulty]
    assert len(practised) >= 6
    assert all(find_layout(name).kind is KeyboardKind.FILM and find_layout(name).routes_assumed for name in practised)
