"""Learns an unknown matrix from single presses of asked-for keys, in any order, with slips and silent keys.

Idea. Every press of a key closes the contact between two lines, so a sighting of exactly one joint is a measurement
of that key. Measurements can be wrong: a finger slips onto a neighbour (another key's joint), touches two keys (two
joints), or nothing closes (a missed press or a dead key). A slip betrays itself, since the neighbour has that joint
too: whenever two keys claim one joint, both are asked again, and a joint counts for both (a doubled key) only when
each has shown it twice and nothing else more often. Silent keys are asked for three times in all; then they stay as
not found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from tailwise.learn.sighting import BoardPair, Joint, Sighting

TIMES_SILENT = 3
"""Presses without a reading before a key counts as not found (people miss about one press in a hundred)."""

TIMES_SHARED = 2
"""Sightings each of two keys must show before they count as two keys on one contact."""


@dataclass
class Learner:
    """The state of learning: every sighting so far. Keys are asked in the given order, doubtful ones again."""

    keys: tuple[str, ...]
    sightings: list[Sighting] = field(default_factory=list)
    skipped: set[str] = field(default_factory=set)

    def saw(self, key: str, pairs: Iterable[BoardPair]) -> None:
        """One press of `key` showed these pairs (none: nothing was read). ValueError for a key that is not drawn."""
        if key not in self.keys:
            raise ValueError(f"{key} is not a key of this drawing")
        self.skipped.discard(key)
        self.sightings.append(Sighting(key, frozenset(pairs)))

    def skip(self, key: str) -> None:
        """Do not ask for this key."""
        self.skipped.add(key)

    def forget(self, key: str) -> None:
        """Drop everything seen for a key, so that it is asked for again: the correction of a mistake."""
        self.sightings = [sighting for sighting in self.sightings if sighting.key != key]
        self.skipped.discard(key)

    def next_key(self) -> str | None:
        """The key to ask for now: first the ones never pressed, then the doubtful; None when all is settled."""
        pressed = {sighting.key for sighting in self.sightings}
        for key in self.keys:
            if key not in pressed and key not in self.skipped:
                return key
        doubtful = self.doubtful()
        return next((key for key in self.keys if key in doubtful), None)

    def doubtful(self) -> set[str]:
        """Keys whose joint is not settled and who are still worth asking."""
        found = self.found()
        claims: Counter[frozenset[frozenset[int]]] = Counter(found.values())
        of_key: dict[str, list[Sighting]] = {}
        for sighting in self.sightings:
            of_key.setdefault(sighting.key, []).append(sighting)
        doubtful = set()
        for key in self.keys:
            if key in self.skipped:
                continue
            own = of_key.get(key, [])
            if not own:
                doubtful.add(key)
            elif key not in found:
                if len(own) < TIMES_SILENT:
                    doubtful.add(key)
            elif claims[found[key]] > 1 or len(found[key]) > 1:
                same = sum(1 for sighting in own if sighting.joints == found[key])
                if same < TIMES_SHARED and len(own) < 2 * TIMES_SILENT:
                    doubtful.add(key)
        return doubtful

    def found(self) -> dict[str, frozenset[frozenset[int]]]:
        """Key -> the joints it showed most often; on a tie the joints no other key claims, then the newest."""
        newest: dict[str, Counter[frozenset[frozenset[int]]]] = {}
        order: dict[tuple[str, frozenset[frozenset[int]]], int] = {}
        for number, sighting in enumerate(self.sightings):
            if sighting.joints:
                newest.setdefault(sighting.key, Counter())[sighting.joints] += 1
                order[sighting.key, sighting.joints] = number
        claimed: Counter[frozenset[frozenset[int]]] = Counter(joints for counts in newest.values() for joints in counts)
        return {
            key: max(counts, key=lambda joints: (counts[joints], -len(joints), -claimed[joints], order[key, joints]))
            for key, counts in newest.items()
        }

    def joints(self) -> dict[str, tuple[Joint, ...]]:
        """Key -> its contacts with the directions they were read in; keys not found are absent."""
        found = self.found()
        seen: dict[str, set[BoardPair]] = {}
        for sighting in self.sightings:
            if sighting.joints == found.get(sighting.key):
                seen.setdefault(sighting.key, set()).update(sighting.pairs)
        result = {}
        for key, pairs in seen.items():
            joints = []
            for lines in sorted({(min(pair), max(pair)) for pair in pairs}):
                directions = frozenset(pair for pair in pairs if (min(pair), max(pair)) == lines)
                joints.append(Joint(lines, directions))
            result[key] = tuple(joints)
        return result

    @property
    def not_found(self) -> tuple[str, ...]:
        """Keys asked for without a reading."""
        found = self.found()
        pressed = {sighting.key for sighting in self.sightings}
        return tuple(key for key in self.keys if key in pressed and key not in found)
