"""An arbitrary wiring of a known keyboard, line by line.

Idea. A press of a key names two board lines, but not which of them is its row. Two keys of one line share a board
line: the shared one is that line, the others are the partners. So two presses name three lines, and the presses
needed are about two thirds of the number of lines, near the length of the longer side. A contact that conducts one
way tells row and column at once where the layout knows the diode.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from tailwise.learn.sighting import BoardPair
from tailwise.model.layout import Layout

TRIES = 3


@dataclass
class FreeWiring:
    """What is known of each line's board line."""

    layout: Layout
    sightings: dict[str, list[frozenset[int]]] = field(default_factory=dict)
    presses: int = 0
    silent: Counter[str] = field(default_factory=Counter)

    def saw(self, key: str, pairs: Iterable[BoardPair]) -> None:
        """One press of `key` read closed on these pairs; a reading of more than one joint says nothing."""
        self.presses += 1
        joints = {frozenset(pair) for pair in pairs}
        if len(joints) == 1:
            self.sightings.setdefault(key, []).append(next(iter(joints)))
        else:
            self.silent[key] += 1

    def _pairs(self) -> dict[str, frozenset[int]]:
        return {key: Counter(seen).most_common(1)[0][0] for key, seen in self.sightings.items()}

    def candidates(self) -> dict[str, set[int]]:
        """Line -> board lines it can be; empty sets betray a slip."""
        found: dict[str, set[int]] = {}
        for key, pair in self._pairs().items():
            for line in self._ends(key):
                found[line] = found.get(line, set(pair)) & pair
        changed = True
        while changed:
            changed = False
            for line, lines in found.items():
                if len(lines) != 1:
                    continue
                (number,) = lines
                for other, others in found.items():
                    if other != line and number in others and len(others) > 1:
                        others.discard(number)
                        changed = True
        return found

    def _ends(self, key: str) -> tuple[str, ...]:
        points = self.layout.key_by_id[key].crosspoints
        return points[0] if len(points) == 1 else ()

    @property
    def board_line(self) -> dict[str, int]:
        """The lines that are settled."""
        return {line: next(iter(lines)) for line, lines in sorted(self.candidates().items()) if len(lines) == 1}

    @property
    def contradicted(self) -> tuple[str, ...]:
        """Keys whose readings cannot all be true, and those on the same board lines: one of them was a slip."""
        found = self.candidates()
        doubled = Counter(next(iter(lines)) for lines in found.values() if len(lines) == 1)
        bad = {line for line, lines in found.items() if not lines or (len(lines) == 1 and doubled[next(iter(lines))] > 1)}
        pairs = self._pairs()
        touched = {number for key, pair in pairs.items() if bad & set(self._ends(key)) for number in pair}
        return tuple(key for key, pair in pairs.items() if pair & touched)

    def next_key(self) -> str | None:
        """The key that names most lines: one line half known and one unknown is best; None when nothing more can be learned."""
        suspects = [key for key in self.contradicted if len(self.sightings[key]) < TRIES]
        if suspects:
            return min(suspects, key=lambda key: len(self.sightings[key]))
        found = self.candidates()
        known = {line for line, lines in found.items() if len(lines) == 1}
        half = {line for line, lines in found.items() if len(lines) > 1}
        best, best_worth = None, 0.0
        for key in self.layout.keys:
            ends = self._ends(key.id)
            if not ends or key.id in self.sightings or self.silent[key.id] >= TRIES:
                continue
            fresh = sum(line not in known and line not in half for line in ends)
            halves = sum(line in half for line in ends)
            sure = sum(line in known for line in ends)
            worth = 2.0 * (halves == 1 and fresh == 1) + 1.2 * (fresh == 2) + 1.0 * (fresh == 1 and sure == 1)
            worth += 1.5 * (halves == 2) + 1.1 * (halves == 1 and sure == 1) - 0.4 * self.silent[key.id]
            if worth > best_worth:
                best, best_worth = key.id, worth
        return best
