"""The general diagnostic engine on circuits of components that compute: the published theory, runnable.

Idea (de Kleer and Williams 1987): assume some components sound, let values flow through them in every direction, and see
whether two values meet that differ. A smallest such set of assumptions is a minimal conflict; diagnoses are the minimal
hitting sets of the conflicts; with a chance of failure each they get posteriors; the best next measurement is the one
with the least expected entropy (bits) left. The keyboard engine uses the same hitting sets, posteriors and entropies.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TypeVar

from tailwise.diagnose.hitting import minimal_hitting_sets

Option = TypeVar("Option", bound=Hashable)
Rule = Callable[[Sequence[float]], float]


@dataclass(frozen=True, slots=True)
class Part:
    """A component: value at `output` follows from the values at `inputs` by `rule`, as long as it is sound."""

    name: str
    inputs: tuple[str, ...]
    output: str
    rule: Rule


@dataclass(frozen=True, slots=True)
class Inverse:
    """A way to work a part backwards: `output` from `inputs` (which name its real output and other inputs)."""

    part: str
    inputs: tuple[str, ...]
    output: str
    rule: Rule


@dataclass(frozen=True)
class Circuit:
    """Parts that are wired by the names of their points."""

    parts: tuple[Part, ...]
    inverses: tuple[Inverse, ...] = ()

    def predict(self, sound: frozenset[str], seen: Mapping[str, float]) -> dict[str, float] | None:
        """Values at every point that follows from what was seen; None where two values disagree."""
        values = dict(seen)
        steps: list[Part | Inverse] = [part for part in self.parts if part.name in sound]
        steps += [inverse for inverse in self.inverses if inverse.part in sound]
        changed = True
        while changed:
            changed = False
            for step in steps:
                if any(name not in values for name in step.inputs):
                    continue
                value = step.rule([values[name] for name in step.inputs])
                if step.output not in values:
                    values[step.output] = value
                    changed = True
                elif not math.isclose(values[step.output], value, abs_tol=1e-9):
                    return None
        return values

    def minimal_conflicts(self, seen: Mapping[str, float]) -> list[frozenset[str]]:
        """The smallest sets of parts that cannot all be sound."""
        names = [part.name for part in self.parts]
        found: list[frozenset[str]] = []
        for size in range(1, len(names) + 1):
            for chosen in combinations(names, size):
                candidate = frozenset(chosen)
                if not any(known <= candidate for known in found) and self.predict(candidate, seen) is None:
                    found.append(candidate)
        return found

    def diagnoses(self, seen: Mapping[str, float]) -> list[frozenset[str]]:
        """Minimal sets of faulty parts that explain what was seen."""
        return minimal_hitting_sets(self.minimal_conflicts(seen))

    def posteriors(self, seen: Mapping[str, float], chance: float) -> dict[frozenset[str], float]:
        """Chance of every diagnosis, minimal or not, the same prior chance of failure for each part.

        Every superset of a minimal diagnosis explains too, so the time grows with 2 to the number of parts.
        """
        minimal = self.diagnoses(seen)
        names = [part.name for part in self.parts]
        every = (frozenset(chosen) for size in range(len(names) + 1) for chosen in combinations(names, size))
        explaining = [each for each in every if any(known <= each for known in minimal)]
        return normalised({each: chance ** len(each) * (1 - chance) ** (len(names) - len(each)) for each in explaining})

    def best_measurement(self, seen: Mapping[str, float], chance: float) -> str:
        """The point not yet measured whose value leaves the least expected entropy over the diagnoses."""
        beliefs = self.posteriors(seen, chance)
        names = frozenset(part.name for part in self.parts)
        points = sorted({part.output for part in self.parts} - set(seen))

        def left(point: str) -> float:
            outcomes: dict[frozenset[str], float | None] = {}
            for diagnosis in beliefs:
                values = self.predict(names - diagnosis, seen) or {}
                outcomes[diagnosis] = values.get(point)
            return expected_entropy(beliefs, outcomes)

        return min(points, key=left)


def normalised(weights: Mapping[Option, float]) -> dict[Option, float]:
    """Weights scaled to a sum of one; all zero stays so."""
    total = math.fsum(weights.values())
    return {each: weight / total if total else 0.0 for each, weight in weights.items()}


def entropy(chances: Iterable[float]) -> float:
    """Shannon entropy in bits."""
    return -math.fsum(chance * math.log2(chance) for chance in chances if chance > 0)


def expected_entropy(beliefs: Mapping[Option, float], outcomes: Mapping[Option, float | None]) -> float:
    """Bits expected to be left after a measurement whose outcome each option predicts.

    None: the option predicts nothing and leaves every outcome of the others equally likely.
    """
    values = sorted({value for value in outcomes.values() if value is not None})
    if not values:
        return entropy(beliefs.values())
    left = 0.0
    for value in values:
        joint = {
            option: belief * (1.0 if outcomes[option] == value else 1.0 / len(values) if outcomes[option] is None else 0.0)
            for option, belief in beliefs.items()
        }
        share = math.fsum(joint.values())
        left += share * entropy(normalised(joint).values())
    return left
