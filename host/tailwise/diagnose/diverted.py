"""A line that is open at its socket and joined to another: its keys are read as the other's.

Idea: named presses of line A land on line B with the right crossing line, while B's own keys stand right. No way of
standing does that, since two lines cannot sit on one contact; an open A that is joined to B on the film does. The
presses then count as silent on A, and the join is a finding of its own.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from tailwise.diagnose.components import Components
from tailwise.model.observation import Attempt, AttemptResult, Observations

LEAST_DIVERTED = 2


@dataclass(frozen=True, slots=True)
class Diverted:
    """Named presses of `line` that landed on `onto`: key -> keys or pairs read."""

    line: str
    onto: str
    keys: tuple[str, ...]


def find_diverted(observations: Observations, parts: Components) -> tuple[Diverted, ...]:
    """Every line whose named presses land on one other line that stands right itself."""
    onto: dict[str, Counter[str]] = {}
    keys: dict[tuple[str, str], list[str]] = {}
    stands: set[str] = set()
    silent: Counter[str] = Counter()
    for attempt in observations.attempts:
        points = parts.layout.key_by_id[attempt.key].crosspoints
        if attempt.result is AttemptResult.SEEN:
            stands.update(line for point in points for line in point)
        if attempt.result is AttemptResult.SILENT:
            silent.update(line for point in points for line in point)
        for line, other in _moves(attempt, points):
            onto.setdefault(line, Counter())[other] += 1
            keys.setdefault((line, other), []).append(attempt.key)
    found = []
    for line, counts in onto.items():
        other, count = max(counts.items(), key=lambda item: item[1])
        if line in stands or other not in stands or count < LEAST_DIVERTED or count <= silent[line]:
            continue
        if count == counts.total():
            found.append(Diverted(line, other, tuple(dict.fromkeys(keys[line, other]))))
    return tuple(found)


def as_silent(observations: Observations, diverted: tuple[Diverted, ...]) -> Observations:
    """The observations with the diverted presses silent where they belong and not counted where they landed."""
    if not diverted:
        return observations
    moved = {key: each for each in diverted for key in each.keys}
    attempts = tuple(
        replace(attempt, result=AttemptResult.SILENT, landed=())
        if attempt.key in moved and attempt.result is AttemptResult.ELSEWHERE
        else attempt
        for attempt in observations.attempts
    )
    return replace(observations, attempts=attempts)


def _moves(attempt: Attempt, points: tuple[tuple[str, str], ...]) -> list[tuple[str, str]]:
    """(line of the key, line it landed on) where exactly one of the two lines is another."""
    if attempt.result is not AttemptResult.ELSEWHERE or len(points) != 1 or len(attempt.landed) != 1:
        return []
    own, read = set(points[0]), set(attempt.landed[0])
    return [(min(own - read), min(read - own))] if len(own & read) == 1 else []
