"""Closures that no key of the layout makes: the sign of another keyboard, or of a misplaced tail nobody can name.

Idea: without named presses a closure at a row and a column where the layout has no key cannot be a press of this layout.
Every way the tails can go in is asked whether it brings all closures onto keys; what is left over is a wrong layout.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from tailwise.diagnose.evidence import Evidence
from tailwise.diagnose.hypotheses import Rule
from tailwise.diagnose.mapping import tail_ways
from tailwise.diagnose.nextstep import repair_step
from tailwise.diagnose.priors import Priors
from tailwise.model.fault import Fault, FaultKind
from tailwise.model.finding import Finding, Rival
from tailwise.model.observation import AttemptResult
from tailwise.words import diagnosis as say

LEAST_PLACES = 2


def find_strange(evidence: Evidence, priors: Priors, off: frozenset[Rule]) -> Iterator[Finding]:
    """A wrong layout, where closures fell on two or more places without a key and no named press says more."""
    observations, parts = evidence.observations, evidence.parts
    places = sorted({tuple(sorted(pair)) for pair in observations.elsewhere})
    named = any(attempt.result is AttemptResult.ELSEWHERE for attempt in observations.attempts)
    if off & {Rule.MAPPING, Rule.OTHER_KEYBOARD} or named or len(places) < LEAST_PLACES:
        return
    closed = {frozenset(place) for place in places}
    for press in observations.presses:
        closed.update(frozenset(point) for point in parts.layout.key_by_id[press.key].crosspoints)
    weights: dict[Fault, float] = {}
    for way in tail_ways(parts.layout, priors):
        images = {
            frozenset((one, two))
            for key in parts.layout.keys
            for row, column in key.crosspoints
            if (one := way.moves.get(row)) is not None and (two := way.moves.get(column)) is not None
        }
        if closed <= images and way.fault is not None:
            weights[way.fault] = weights.get(way.fault, 0.0) + math.exp(way.log_weight)
    lines = tuple(sorted({line for place in places for line in place}))
    wrong = Fault(FaultKind.WRONG_LAYOUT, lines)
    total = priors.wrong_layout + math.fsum(weights.values())
    rivals = tuple(
        Rival(fault, math.floor(weight / total * 1000) / 1000)
        for fault, weight in sorted(weights.items(), key=lambda item: (-item[1], item[0].sort_key))[:4]
    )
    about = tuple(say.no_key_there(*place) for place in places[:6])
    chance = math.floor(min(priors.wrong_layout / total, 0.97) * 1000) / 1000
    yield Finding(wrong, chance, about, rivals, repair_step(wrong, parts))
