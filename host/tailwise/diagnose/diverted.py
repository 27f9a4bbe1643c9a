"""A line that is open at its socket and joined to another: its keys are read as the other's.

Idea: named presses of line A land on line B with the right crossing line, while B's own keys stand right. No way of
standing does that, since two lines cannot sit on one contact; an open A that is joined to B on the film does. The
presses then count as silent on A, and the join is a finding of its own.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from tailwise.diagnose.components import Components
from tailwise.model.fault import Fault, FaultKind, Steadiness
from tailwise.model.observation import Attempt, AttemptResult, Observations

LEAST_DIVERTED = 2
STUCK_SHARE = 0.9
"""where a key stands at the two lines, the share of joins that are that key's contact and no short beside it"""


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


def joins_behind(diverted: Diverted, parts: Components, chance: float) -> list[tuple[Fault, float]]:
    """What joins the two lines, the likeliest first: a stuck contact where a key stands there, else a short."""
    pair = frozenset((diverted.line, diverted.onto))
    lines = tuple(sorted(pair))
    stuck = [Fault(FaultKind.STUCK_CONTACT, lines, (key,)) for key in sorted(parts.layout.keys_at.get(pair, ()))]
    options = [*stuck, Fault(FaultKind.SHORT, lines)]
    shares = [STUCK_SHARE / len(stuck)] * len(stuck) + [1 - STUCK_SHARE] if stuck else [1.0]
    return [(fault, chance * share) for fault, share in zip(options, shares, strict=True)]


def told_by(fault: Fault, diverted: tuple[Diverted, ...], parts: Components) -> bool:
    """True where two lines read joined now and then only because keys of an open line are read on the other."""
    if fault.steadiness is not Steadiness.INTERMITTENT:
        return False
    pair = frozenset(fault.lines)
    return any(each.onto in pair and frozenset((each.line, *(pair - {each.onto}))) in parts.layout.keys_at for each in diverted)


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
    elsewhere = tuple(
        pair
        for pair in observations.elsewhere
        if not any(
            each.onto in pair
            and frozenset(each.line if line == each.onto else line for line in pair) in observations.layout.keys_at
            for each in diverted
        )
    )
    return replace(observations, attempts=attempts, elsewhere=elsewhere)


def _moves(attempt: Attempt, points: tuple[tuple[str, str], ...]) -> list[tuple[str, str]]:
    """(line of the key, line it landed on) where exactly one of the two lines is another."""
    if attempt.result is not AttemptResult.ELSEWHERE or len(points) != 1 or len(attempt.landed) != 1:
        return []
    own, read = set(points[0]), set(attempt.landed[0])
    return [(min(own - read), min(read - own))] if len(own & read) == 1 else []
