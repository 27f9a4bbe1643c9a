"""Minimal hitting sets in order of weight: the smallest sets of suspects that explain every conflict.

Idea (Reiter 1987, de Kleer and Williams 1987): an observation that cannot be if some components are all sound is a
conflict, the set of those components. A diagnosis is a set that shares a member with every conflict; it is minimal where
no member can be spared. The search takes the open set first that can become cheapest (cost: minus the logarithm of the
odds; what is unexplained costs at least its share of the cheapest suspect, shared by all that suspect explains), branches
on the unexplained conflict with the fewest suspects, and gives a branch no suspect that an earlier sister took, so that no
set is found twice. A member that no longer hits any conflict alone is pruned at once: it never will again.
"""

from __future__ import annotations

import heapq
from collections.abc import Hashable, Iterable, Iterator, Sequence
from typing import TypeVar

Name = TypeVar("Name", bound=Hashable)

Node = tuple[float, int, float, tuple[int, ...], int, int]


def cheapest_hitting_sets(
    hits: Sequence[int], costs: Sequence[float], conflicts: int, most_steps: int = 100_000, most_members: int = 64
) -> Iterator[tuple[tuple[int, ...], float]]:
    """Minimal hitting sets of conflicts 0..conflicts-1, cheapest first, each with its cost.

    hits: for every suspect the conflicts it is in, as bits. costs: zero or more, added up. The search ends after
    most_steps open sets; sets of more than most_members are not followed.
    """
    everything = (1 << conflicts) - 1
    suspects = [[each for each, mask in enumerate(hits) if mask >> conflict & 1] for conflict in range(conflicts)]
    least = [min((costs[each] / hits[each].bit_count() for each in group), default=0.0) for group in suspects]
    heap: list[Node] = [(0.0, 0, 0.0, (), 0, everything)]
    serial = 0
    while heap and most_steps > 0:
        most_steps -= 1
        _, _, cost, chosen, barred, open_conflicts = heapq.heappop(heap)
        if not open_conflicts:
            yield chosen, cost
            continue
        if len(chosen) >= most_members:
            continue
        allowed = _fewest(open_conflicts, suspects, barred)
        for each in allowed:
            grown = (*chosen, each)
            if _all_needed(grown, hits):
                serial += 1
                left, paid = open_conflicts & ~hits[each], cost + costs[each]
                heapq.heappush(heap, (paid + _at_least(left, least), serial, paid, grown, barred, left))
            barred |= 1 << each


def minimal_hitting_sets(conflicts: Iterable[Iterable[Name]]) -> list[frozenset[Name]]:
    """Every minimal hitting set, smallest first."""
    sets = [frozenset(conflict) for conflict in conflicts]
    names = list(dict.fromkeys(name for conflict in sets for name in conflict))
    hits = [sum(1 << index for index, conflict in enumerate(sets) if name in conflict) for name in names]
    found = cheapest_hitting_sets(hits, [1.0] * len(names), len(sets), most_steps=10_000_000, most_members=len(names))
    return [frozenset(names[each] for each in chosen) for chosen, _ in found]


def _at_least(open_conflicts: int, least: Sequence[float]) -> float:
    total = 0.0
    while open_conflicts:
        low = open_conflicts & -open_conflicts
        open_conflicts ^= low
        total += least[low.bit_length() - 1]
    return total


def _fewest(open_conflicts: int, suspects: Sequence[Sequence[int]], barred: int) -> list[int]:
    best: list[int] | None = None
    while open_conflicts:
        low = open_conflicts & -open_conflicts
        open_conflicts ^= low
        allowed = [each for each in suspects[low.bit_length() - 1] if not barred >> each & 1]
        if best is None or len(allowed) < len(best):
            best = allowed
            if len(best) <= 1:
                break
    return best or []


def _all_needed(chosen: Sequence[int], hits: Sequence[int]) -> bool:
    once = twice = 0
    for each in chosen:
        twice |= once & hits[each]
        once |= hits[each]
    alone = once & ~twice
    return all(hits[each] & alone for each in chosen)
