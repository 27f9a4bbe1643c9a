"""The heaviest of the largest matchings between two sides, by growing it along the best augmenting path each time.

Theory. A matching pairs members of two sides, nobody twice. Growing it by the augmenting path that gains most weight (Jewell
1958, Busacker and Gowen 1961, from memory: successive shortest paths) leaves it heaviest among matchings of its size at
every step, so the last one is the heaviest of the largest. Paths by Bellman and Ford, since edges already used count negative:
O(V * V * E), at most 40 lines and 120 keys here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

Edge = tuple[str, str]


def heaviest_matching(weights: Mapping[Edge, float]) -> set[Edge]:
    """Edges (left, right) of a largest matching, the heaviest of those."""
    matched: dict[str, str] = {}
    while True:
        path = _best_path(weights, matched)
        if path is None:
            return {(left, right) for right, left in matched.items()}
        for left, right in path:
            matched[right] = left


def _best_path(weights: Mapping[Edge, float], matched: dict[str, str]) -> list[Edge] | None:
    """The new edges of the best augmenting path, from its free right end backwards; None where there is none."""
    partner = {left: right for right, left in matched.items()}
    gain: dict[str, float] = {left: 0.0 for left, _ in weights if left not in partner}
    came: dict[str, str] = {}
    best: dict[str, float] = {}
    for _ in range(len(gain) + len(partner) + 1):
        changed = False
        for (left, right), weight in weights.items():
            if left not in gain or partner.get(left) == right:
                continue
            reached = gain[left] + weight
            if reached > best.get(right, -math.inf) + 1e-12:
                best[right], came[right] = reached, left
                back = matched.get(right)
                if back is not None:
                    gain[back] = reached - weights[back, right]
                changed = True
        if not changed:
            break
    free = [right for right in best if right not in matched]
    if not free:
        return None
    right = max(free, key=lambda each: (best[each], each))
    path = []
    while True:
        left = came[right]
        path.append((left, right))
        if left not in partner:
            return path
        right = partner[left]
