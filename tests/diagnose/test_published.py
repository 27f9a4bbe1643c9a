"""The general engine against the published examples."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import combinations

import networkx
import pytest

from tailwise.diagnose.gde import Circuit, Inverse, Part, entropy, expected_entropy, normalised
from tailwise.diagnose.hitting import cheapest_hitting_sets, minimal_hitting_sets


def _product(values: Sequence[float]) -> float:
    return values[0] * values[1]


def _sum(values: Sequence[float]) -> float:
    return values[0] + values[1]


def _difference(values: Sequence[float]) -> float:
    return values[0] - values[1]


POLYBOX = Circuit(
    (
        Part("M1", ("A", "C"), "X", _product),
        Part("M2", ("B", "D"), "Y", _product),
        Part("M3", ("C", "E"), "Z", _product),
        Part("A1", ("X", "Y"), "F", _sum),
        Part("A2", ("Y", "Z"), "G", _sum),
    ),
    (
        Inverse("A1", ("F", "X"), "Y", _difference),
        Inverse("A1", ("F", "Y"), "X", _difference),
        Inverse("A2", ("G", "Y"), "Z", _difference),
        Inverse("A2", ("G", "Z"), "Y", _difference),
    ),
)
SEEN = {"A": 3.0, "B": 2.0, "C": 2.0, "D": 3.0, "E": 3.0, "F": 10.0, "G": 12.0}


def test_three_multipliers_conflicts_and_diagnoses() -> None:
    """de Kleer and Williams, Artificial Intelligence 32, 1987."""
    assert {frozenset(each) for each in POLYBOX.minimal_conflicts(SEEN)} == {
        frozenset({"A1", "M1", "M2"}),
        frozenset({"A1", "A2", "M1", "M3"}),
    }
    assert set(POLYBOX.diagnoses(SEEN)) == {
        frozenset({"A1"}),
        frozenset({"M1"}),
        frozenset({"A2", "M2"}),
        frozenset({"M2", "M3"}),
    }


def test_three_multipliers_posteriors_with_one_percent_priors() -> None:
    """de Kleer and Williams 1987: 0.478, 0.478, 0.0048, 0.0048 over the four minimal ones."""
    beliefs = POLYBOX.posteriors(SEEN, 0.01)
    assert beliefs[frozenset({"A1"})] == pytest.approx(0.478, abs=5e-4)
    assert beliefs[frozenset({"M1"})] == pytest.approx(0.478, abs=5e-4)
    assert beliefs[frozenset({"A2", "M2"})] == pytest.approx(0.0048, abs=5e-5)
    assert beliefs[frozenset({"M2", "M3"})] == pytest.approx(0.0048, abs=5e-5)
    assert sum(beliefs.values()) == pytest.approx(1.0)


def test_three_multipliers_best_measurement() -> None:
    """de Kleer and Williams 1987: measure X."""
    assert POLYBOX.best_measurement(SEEN, 0.01) == "X"


def test_sound_circuit_has_no_conflict() -> None:
    assert POLYBOX.minimal_conflicts({**SEEN, "F": 12.0}) == []
    assert POLYBOX.diagnoses({**SEEN, "F": 12.0}) == [frozenset()]


def test_reiter_hitting_sets() -> None:
    """The sets of Reiter 1987 (from memory), their minimal hitting sets worked out by hand."""
    conflicts = [{2, 4, 5}, {1, 2, 3}, {1, 3, 5}, {2, 4, 6}, {2, 4}, {2, 3, 5}, {1, 6}]
    expected = {(1, 2), (1, 3, 4), (1, 4, 5), (2, 3, 6), (2, 5, 6), (3, 4, 6)}
    found = minimal_hitting_sets(conflicts)
    assert {tuple(sorted(each)) for each in found} == expected
    assert len(found) == len(expected)
    assert [len(each) for each in found] == sorted(len(each) for each in found)


def test_hitting_sets_of_pairs_are_networkx_vertex_covers() -> None:
    """A minimal hitting set of edges is the complement of a maximal independent set: compared with NetworkX's cliques."""
    for seed in range(20):
        graph = networkx.gnp_random_graph(8, 0.4, seed=seed)
        covers = {frozenset(graph) - frozenset(clique) for clique in networkx.find_cliques(networkx.complement(graph))}
        assert set(minimal_hitting_sets([set(edge) for edge in graph.edges])) == covers


def test_cheapest_first_and_none_twice() -> None:
    chance = random.Random(4)
    for _ in range(30):
        hits = [chance.randrange(1, 64) for _ in range(9)]
        costs = [chance.random() for _ in hits]
        if any(not any(mask >> conflict & 1 for mask in hits) for conflict in range(6)):
            continue
        found = list(cheapest_hitting_sets(hits, costs, 6))
        sets = [frozenset(chosen) for chosen, _ in found]
        assert len(set(sets)) == len(sets)
        assert [cost for _, cost in found] == sorted(cost for _, cost in found)
        brute = [frozenset(chosen) for size in range(10) for chosen in combinations(range(9), size) if _covers(chosen, hits)]
        minimal = {each for each in brute if not any(other < each for other in brute)}
        assert set(sets) == minimal


def _covers(chosen: tuple[int, ...], hits: list[int]) -> bool:
    union = 0
    for each in chosen:
        union |= hits[each]
    return union == 63


def test_expected_entropy() -> None:
    even = {"a": 0.5, "b": 0.5}
    assert entropy(even.values()) == pytest.approx(1.0)
    assert expected_entropy(even, {"a": 1.0, "b": 0.0}) == pytest.approx(0.0)
    assert expected_entropy(even, {"a": 1.0, "b": 1.0}) == pytest.approx(1.0)
    assert normalised({"a": 2.0, "b": 6.0}) == {"a": 0.25, "b": 0.75}
