"""How a known keyboard is connected: asks for the few keys that settle it soonest.

Idea. Each placement of the tails predicts on which two board lines a key lands. Bayes' rule weighs the placements by
what was read; the next key is the one whose predicted readings split the weight best (largest entropy). A press that
no likely placement predicts is a slip onto a neighbour (2 %) or a missed press (1 %); after several, the wiring
counts as none of the known ways and has to be learned line by line (`freewiring`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from tailwise.harness.wiring import Wiring
from tailwise.learn.placements import Placement, placements
from tailwise.learn.sighting import BoardPair
from tailwise.model.layout import Layout

SLIP = 0.02
MISSED = 0.01
ODD = 1e-4
"""Chance of a reading that is neither the key nor a neighbour of it on the drawing."""

ARBITRARY = 1e-4
"""Prior of a wiring that is none of the known ways."""

SETTLED = 0.99


@dataclass
class Connection:
    """The weighing of placements; `presses` counts what was asked so far."""

    layout: Layout
    wiring: Wiring
    presses: int = 0
    asked: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.ways = placements(self.layout, self.wiring)
        self._log = [math.log(way.prior) for way in self.ways]
        self._log_arbitrary = math.log(ARBITRARY)
        self._near = _neighbours(self.layout)
        lines = len(self.layout.lines)
        self._log_any_pair = math.log(2.0 / (lines * (lines - 1)))

    def _predicts(self, way: Placement, key: str) -> frozenset[frozenset[int]]:
        points = self.layout.key_by_id[key].crosspoints
        ends = [(way.board_line.get(row), way.board_line.get(column)) for row, column in points]
        return frozenset(frozenset((a, b)) for a, b in ends if a is not None and b is not None)

    def saw(self, key: str, pairs: Iterable[BoardPair]) -> None:
        """One press of `key` read closed on these pairs of board lines (none: nothing was read)."""
        joints = frozenset(frozenset(pair) for pair in pairs)
        self.presses += 1
        self.asked[key] = self.asked.get(key, 0) + 1
        for number, way in enumerate(self.ways):
            expected = self._predicts(way, key)
            if joints == expected:
                chance = 1.0 - SLIP - MISSED if joints else 1.0 - SLIP
            elif not joints:
                chance = MISSED
            else:
                slipped = any(joints == self._predicts(way, other) for other in self._near[key])
                chance = SLIP / 4 if slipped else ODD
            self._log[number] += math.log(chance)
        self._log_arbitrary += self._log_any_pair if joints else math.log(0.05)

    def weights(self) -> tuple[list[float], float]:
        """Probability of each placement, and of an arbitrary wiring; together 1."""
        top = max(*self._log, self._log_arbitrary)
        raw = [math.exp(each - top) for each in self._log]
        arbitrary = math.exp(self._log_arbitrary - top)
        total = sum(raw) + arbitrary
        return [each / total for each in raw], arbitrary / total

    @property
    def settled(self) -> Placement | None:
        """The placement, once it is sure to 99 %."""
        weights, _ = self.weights()
        best = max(range(len(weights)), key=weights.__getitem__)
        return self.ways[best] if weights[best] >= SETTLED and self.presses else None

    @property
    def arbitrary(self) -> bool:
        """Whether the wiring is none of the known ways, to 99 %."""
        return self.weights()[1] >= SETTLED

    def next_key(self) -> str | None:
        """The key that splits the remaining placements best; None when settled or arbitrary."""
        if self.settled is not None or self.arbitrary:
            return None
        weights, _ = self.weights()
        alive = [(way, weight) for way, weight in zip(self.ways, weights, strict=True) if weight > 1e-6]
        best, best_gain = None, -1.0
        for key in self.layout.keys:
            if not key.crosspoints or self.asked.get(key.id, 0) >= 3:
                continue
            gain = _entropy(self._split(key.id, alive)) - 0.3 * self.asked.get(key.id, 0)
            if gain > best_gain + 1e-12:
                best, best_gain = key.id, gain
        return best

    def _split(self, key: str, alive: Iterable[tuple[Placement, float]]) -> Mapping[frozenset[frozenset[int]], float]:
        parts: dict[frozenset[frozenset[int]], float] = {}
        for way, weight in alive:
            outcome = self._predicts(way, key)
            parts[outcome] = parts.get(outcome, 0.0) + weight
        return parts


def _neighbours(layout: Layout) -> dict[str, list[str]]:
    """Keys whose centres lie within 1.6 key units: where a slipping finger lands."""
    centre = {
        key.id: (key.position.x + key.position.width / 2, key.position.y + key.position.height / 2) for key in layout.keys
    }
    return {
        key: [other for other, (u, v) in centre.items() if other != key and max(abs(u - x), abs(v - y)) <= 1.6]
        for key, (x, y) in centre.items()
    }


def _entropy(parts: Mapping[frozenset[frozenset[int]], float]) -> float:
    total = sum(parts.values())
    return -sum(weight / total * math.log2(weight / total) for weight in parts.values() if weight > 0)
