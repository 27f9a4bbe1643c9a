"""Explanations of a run, weighed: which sets of faults account for everything, and how probable each is.

Idea: conflicts that share a suspect belong to one problem; problems are solved apart, so ten dead keys cost ten small
searches and not one large one. In each, minimal hitting sets are taken in the order of their odds and weighed exactly:

    weight = product of the odds of its faults * likelihood of what the intermittent ones showed * odds of the operator's slips

An opening that two chosen intermittent faults both explain counts for the one that explains more. The best explanation
gives the findings; a finding's probability is the share of all weight that holds its fault, its rivals get the weight of
the explanations without it. Below `accuse_above` nothing is claimed: the operator may have missed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from tailwise.diagnose.hitting import cheapest_hitting_sets
from tailwise.diagnose.hypotheses import Hypothesis, Rule
from tailwise.diagnose.priors import Priors
from tailwise.diagnose.suspects import Case, Suspect

LEAST_SHARE = 10.0
"""explanations this far (natural log) below the best are dropped: one in twenty thousand"""
MOST_STEPS = 2500
LEAST_COST = 0.05
LEAST_RIVAL = 0.0005


@dataclass(frozen=True, slots=True)
class Claim:
    """One accused fault: its option and chance, the rivals with theirs, and the conflicts (bits) it explains."""

    hypothesis: Hypothesis
    chance: float
    rivals: tuple[tuple[Hypothesis, float], ...]
    hits: int
    by_chance: float


Explanation = tuple[tuple[int, ...], float]


def infer(case: Case, priors: Priors, off: frozenset[Rule] = frozenset()) -> tuple[Claim, ...]:
    """Every fault that the best explanations hold and that is more than `accuse_above` not the operator."""
    claims = [claim for problem in _problems(case) for claim in _solve(case, problem, priors, off)]
    if Rule.SEVERAL in off and claims:
        claims = [max(claims, key=lambda each: (each.hits.bit_count(), each.chance))]
    return tuple(claims)


def weighed_problems(case: Case) -> Iterator[tuple[list[Suspect], list[Explanation]]]:
    """For each problem of a case its suspects and its explanations (places in that list) with their chances, best first."""
    for problem in _problems(case):
        suspects = [each for each in case.suspects if each.hits & problem]
        shares = _shares(case, problem, suspects)
        if shares:
            yield suspects, shares


def _problems(case: Case) -> list[int]:
    """Groups of conflicts (bits) that share a suspect other than the operator."""
    groups: list[int] = []
    for suspect in case.suspects:
        joined = suspect.hits
        apart = []
        for group in groups:
            if group & joined:
                joined |= group
            else:
                apart.append(group)
        groups = [*apart, joined]
    return sorted(groups)


def _solve(case: Case, problem: int, priors: Priors, off: frozenset[Rule]) -> Iterator[Claim]:
    suspects = [each for each in case.suspects if each.hits & problem]
    shares = _shares(case, problem, suspects)
    if not shares:
        return
    top = shares[0][0]
    for index in top:
        if suspects[index].by_chance:
            continue
        claim = _claim(index, top, shares, suspects)
        if 1.0 - claim.by_chance >= priors.accuse_above:
            yield claim


def _shares(case: Case, problem: int, suspects: list[Suspect]) -> list[Explanation]:
    """Explanations with their chances, which sum to one, best first."""
    explanations = _explanations(case, problem, suspects)
    if not explanations:
        return []
    best = max(weight for _, weight in explanations)
    kept = [(chosen, math.exp(weight - best)) for chosen, weight in explanations if weight > best - LEAST_SHARE]
    total = math.fsum(share for _, share in kept)
    return sorted(((chosen, share / total) for chosen, share in kept), key=lambda each: -each[1])


def _explanations(case: Case, problem: int, suspects: list[Suspect]) -> list[Explanation]:
    conflicts = [index for index in range(len(case.conflicts)) if problem >> index & 1]
    place = {conflict: bit for bit, conflict in enumerate(conflicts)}
    hits = [sum(1 << bit for conflict, bit in place.items() if each.hits >> conflict & 1) for each in suspects]
    costs = [max(LEAST_COST, -_alone(case, each)) for each in suspects]
    found: list[Explanation] = []
    cheapest = math.inf
    for chosen, cost in cheapest_hitting_sets(hits, costs, len(conflicts), MOST_STEPS):
        cheapest = min(cheapest, cost)
        if cost > cheapest + LEAST_SHARE:
            break
        found.append((chosen, _weight(case, [suspects[each] for each in chosen])))
    return found


def _alone(case: Case, suspect: Suspect) -> float:
    if suspect.by_chance or suspect.steady:
        return suspect.log_odds
    return case.log_weight(suspect, suspect.hits, 0)


def _weight(case: Case, chosen: list[Suspect]) -> float:
    total = 0.0
    explained = taken = 0
    for each in chosen:
        if each.steady:
            explained |= each.hits
            taken |= each.options[0].silences
    for each in sorted((one for one in chosen if not one.steady and not one.by_chance), key=lambda one: -one.hits.bit_count()):
        total += case.log_weight(each, each.hits & ~explained, taken)
        explained |= each.hits
    return total + math.fsum(each.log_odds for each in chosen if each.steady or each.by_chance)


def _claim(index: int, top: tuple[int, ...], shares: list[Explanation], suspects: list[Suspect]) -> Claim:
    own = suspects[index]
    alone = own.hits
    for other in top:
        if other != index:
            alone &= ~suspects[other].hits
    same = {each for each, suspect in enumerate(suspects) if suspect.options == own.options}
    chance = by_chance = 0.0
    rivals: dict[int, float] = {}
    for chosen, share in shares:
        if same.intersection(chosen):
            chance += share
            continue
        instead = [each for each in chosen if suspects[each].hits & alone]
        real = [each for each in instead if not suspects[each].by_chance]
        if not real:
            by_chance += share
            continue
        stand_in = max(real, key=lambda each: ((suspects[each].hits & alone).bit_count(), suspects[each].log_odds, -each))
        rivals[stand_in] = rivals.get(stand_in, 0.0) + share
    (accused, part), *others = _split(own, chance)
    weighed = list(others)
    for suspect, share in rivals.items():
        weighed += _split(suspects[suspect], share)
    kept = tuple(each for each in weighed if each[1] >= LEAST_RIVAL)
    return Claim(accused, part, kept, own.hits, by_chance)


def _split(suspect: Suspect, share: float) -> list[tuple[Hypothesis, float]]:
    """A suspect's share over its options, by their odds."""
    total = math.fsum(each.odds for each in suspect.options)
    return [(each, share * each.odds / total) for each in suspect.options]
