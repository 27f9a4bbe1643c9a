"""Keys to hold: against a graph library, and against the circuit's rectangle rule."""

from __future__ import annotations

from collections.abc import Hashable

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tailwise.layoutfile.library import find_layout, shipped_ids
from tailwise.model.layout import Key, KeyboardKind, Layout, Position
from tailwise.procedure.holdset import farness, hold_set
from tailwise.procedure.matching import heaviest_matching
from tailwise.procedure.witness import pairs_of, separating, witnesses

DEMO = find_layout("demo-7x6")


def graph_of(layout: Layout) -> nx.Graph[Hashable]:
    graph: nx.Graph[Hashable] = nx.Graph()
    for key in layout.keys:
        if len(key.crosspoints) == 1:
            graph.add_edge(*key.crosspoints[0])
    return graph


@pytest.mark.parametrize("name", sorted(shipped_ids()))
def test_every_layout_is_covered_by_as_few_keys_as_can_be_and_no_rectangle_closes(name: str) -> None:
    layout = find_layout(name)
    found = hold_set(layout)
    graph = graph_of(layout)
    assert len(found.keys) == smallest(graph)
    held: nx.Graph[Hashable] = nx.Graph(layout.key_by_id[key].crosspoints[0] for key in found.keys)
    assert set(held) == set(graph)
    assert set(found.uncovered) == set(layout.lines) - set(graph)
    assert nx.is_forest(held)
    for part in nx.connected_components(held):
        degrees = sorted(degree for _, degree in held.subgraph(part).degree())
        assert degrees[:-1] == [1] * (len(part) - 1), "every part is a star: no reading without its key"


def test_a_graph_librarys_own_edge_cover_is_as_small() -> None:
    cover = {frozenset(edge) for edge in nx.min_edge_cover(graph_of(DEMO))}
    assert len(hold_set(DEMO).keys) == len(cover)


def smallest(graph: nx.Graph[Hashable]) -> int:
    return len(graph) - len(nx.max_weight_matching(graph, maxcardinality=True))


def test_seven_keys_hold_the_seven_by_six() -> None:
    assert len(hold_set(DEMO).keys) == 7


def test_a_dead_key_is_not_asked_for() -> None:
    dead = hold_set(DEMO).keys[0]
    again = hold_set(DEMO, without=(dead,))
    assert dead not in again.keys and len(again.keys) == 7


def grid(points: frozenset[tuple[int, int]]) -> Layout:
    rows, columns = tuple(f"R{n}" for n in range(6)), tuple(f"C{n}" for n in range(6))
    keys = tuple(Key(f"{r}{c}", "", f"R{r}", f"C{c}", Position(0, 0)) for r, c in sorted(points))
    return Layout("grid", "", KeyboardKind.FILM, rows, columns, keys)


POINTS = st.frozensets(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=1)


@settings(max_examples=150, deadline=None)
@given(POINTS)
def test_any_matrix_gets_a_smallest_cover_that_is_a_forest_of_stars(points: frozenset[tuple[int, int]]) -> None:
    layout = grid(points)
    found, graph = hold_set(layout), graph_of(layout)
    assert len(found.keys) == smallest(graph)
    held: nx.Graph[Hashable] = nx.Graph(layout.key_by_id[key].crosspoints[0] for key in found.keys)
    assert set(held) == set(graph)
    assert nx.is_forest(held)
    for key in found.keys:
        one, two = layout.key_by_id[key].crosspoints[0]
        assert min(held.degree(one), held.degree(two)) == 1


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(st.tuples(st.integers(0, 5), st.integers(0, 5)), st.integers(-9, 9), min_size=1))
def test_the_matching_is_as_large_and_as_heavy_as_the_librarys(weights: dict[tuple[int, int], int]) -> None:
    named = {(f"l{one}", f"r{two}"): float(weight) for (one, two), weight in weights.items()}
    graph: nx.Graph[Hashable] = nx.Graph()
    graph.add_weighted_edges_from((one, two, weight) for (one, two), weight in named.items())
    theirs = nx.max_weight_matching(graph, maxcardinality=True)
    ours = heaviest_matching(named)
    assert len(ours) == len(theirs) == len({left for left, _ in ours}) == len({right for _, right in ours})
    assert sum(named[edge] for edge in ours) == pytest.approx(sum(graph.edges[edge]["weight"] for edge in theirs))


def test_the_keys_lie_far_along_their_routes() -> None:
    far = farness(DEMO)
    chosen = hold_set(DEMO).keys
    assert sum(far[key] for key in chosen) / len(chosen) > 1.3


@pytest.mark.parametrize("line", DEMO.lines)
def test_two_witnesses_share_only_their_line(line: str) -> None:
    found = witnesses(DEMO, line)
    one, two = (set(DEMO.key_by_id[key].crosspoints[0]) for key in found.keys)
    assert one & two == {line}
    assert {each for pair in found.pairs for each in pair} == one | two
    assert len({sensed for sensed, _ in found.pairs}) == 2
    assert not {sensed for sensed, _ in found.pairs} & {driven for _, driven in found.pairs}


def test_held_keys_are_witnesses_before_farther_ones() -> None:
    assert witnesses(DEMO, "R1", held=("6", "5")).keys == ("5", "6")
    assert pairs_of(DEMO, "R1", ("6",)) == (("R1", "C6"),)


@pytest.mark.parametrize("key", [key.id for key in DEMO.keys])
def test_the_pair_that_separates_row_from_column_leaves_the_contact_out(key: str) -> None:
    row, column = DEMO.key_by_id[key].crosspoints[0]
    found = separating(DEMO, key)
    assert found is not None and key not in found.keys
    one, two = (set(DEMO.key_by_id[each].crosspoints[0]) for each in found.keys)
    assert (row in one, column in one, row in two, column in two) == (True, False, False, True)
    assert not one & two
    assert [sensed for sensed, _ in found.pairs] == [row, column]
