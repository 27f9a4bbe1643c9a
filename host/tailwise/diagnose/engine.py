"""Observations in, findings out: the order in which a run is thought about.

1. A line held from outside: nothing was driven, nothing else can be said.
2. Nothing closed at all: not inserted, or wrong side up; no line is accused.
3. Lines joined at rest, or only under keys where diodes hide it: shorts, leaks, stuck contacts; what they make doubtful
   is left out of the rest.
4. Where the lines stand: a misplaced tail is set right in mind and the run is read again; a wrong layout ends it.
5. Diodes that conduct the wrong way.
6. Contacts that bounce; the openings that bounce explains are no dropouts.
7. Silent keys and dropouts: explanations of one, two and more faults (inference).

A finding carries its rivals; probabilities are cut, not rounded, to three decimals, so that they never sum to more than one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

from tailwise.diagnose import explain
from tailwise.diagnose.bounce import find_bouncing, without_bounce
from tailwise.diagnose.components import Components
from tailwise.diagnose.diodes import find_diode_faults
from tailwise.diagnose.diverted import as_silent, find_diverted, joins_behind, told_by
from tailwise.diagnose.evidence import Evidence, nothing_closed
from tailwise.diagnose.explain_reseat import about_reseats
from tailwise.diagnose.flexing import flexed
from tailwise.diagnose.hidden import find_hidden_shorts, without_pairs
from tailwise.diagnose.hypotheses import Rule, all_hypotheses, breaks_of_unknown_routes
from tailwise.diagnose.inference import Claim, infer
from tailwise.diagnose.joined import JoinClaim, JoinedLines, film_of_mute_keys, find_joined, keys_within, without_joined
from tailwise.diagnose.mapping import find_standing, set_right
from tailwise.diagnose.nextstep import best_step, repair_step, was_reseated
from tailwise.diagnose.one_way import find_one_way
from tailwise.diagnose.place import distance_mm
from tailwise.diagnose.priors import DEFAULT_PRIORS, Priors
from tailwise.diagnose.strange import LEAST_PLACES, find_strange
from tailwise.diagnose.suspects import Case, build_case
from tailwise.model.fault import Fault, FaultKind, Steadiness
from tailwise.model.finding import Finding, Rival
from tailwise.model.observation import LineHeld, Observations
from tailwise.words import diagnosis as say

DIVERTED_CHANCE = 0.9
LEAST_RIVAL = 0.001
MOST_RIVALS = 24


def diagnose(
    observations: Observations, priors: Priors = DEFAULT_PRIORS, off: frozenset[Rule] = frozenset()
) -> tuple[Finding, ...]:
    """The findings of a run, sorted by kind, lines, keys. `off`: rules a benchmark switches off to show what they carry."""
    found = list(_findings(observations, priors, off))
    return tuple(sorted(found, key=lambda finding: finding.fault.sort_key))


def read_run(observations: Observations, priors: Priors = DEFAULT_PRIORS) -> Case:
    """What a run, finished or not, leaves to be explained: for those who ask what to do next."""
    parts = Components(observations.layout)
    joined = find_joined(observations, parts, priors)
    observations = without_pairs(observations, tuple(find_hidden_shorts(observations, parts, priors)))
    observations = as_silent(observations, find_diverted(observations, parts))
    evidence = Evidence(observations, parts, keys_within(parts, joined.groups))
    return build_case(evidence, all_hypotheses(parts, priors), priors)


def _findings(observations: Observations, priors: Priors, off: frozenset[Rule]) -> Iterator[Finding]:
    parts = Components(observations.layout)
    held = sorted(line for line, state in observations.held.items() if state in (LineHeld.HIGH, LineHeld.LOW))
    if held and Rule.HELD not in off:
        yield _foreign(held, observations, priors)
        return
    if nothing_closed(observations):
        return
    hidden = tuple(find_hidden_shorts(observations, parts, priors)) if Rule.JOINED not in off else ()
    joined = find_joined(
        observations, parts, priors, off, [frozenset(each.options[0][0].lines) for each in hidden if each.span is None]
    )
    left_out = keys_within(parts, joined.groups)
    for short in hidden:
        (fault, chance), *rivals = short.options
        if not any(set(fault.lines) <= group for group in joined.groups):
            yield _finding(fault, chance, rivals, explain.about_hidden(short), Evidence(observations, parts))
    observations = without_pairs(observations, hidden)
    diverted = find_diverted(observations, parts) if Rule.JOINED not in off else ()
    standing = find_standing(as_silent(observations, diverted), parts, priors, off) if Rule.MAPPING not in off else None
    if diverted and standing is not None:
        diverted, standing = (), find_standing(observations, parts, priors, off)
    for each in diverted:
        why = say.diverted(each.line, each.onto, each.keys)
        (fault, chance), *rivals = joins_behind(each, parts, DIVERTED_CHANCE)
        yield _finding(fault, chance, rivals, (why,), Evidence(observations, parts))
    observations = as_silent(observations, diverted)
    joined = replace(joined, claims=tuple(each for each in joined.claims if not told_by(each.options[0][0], diverted, parts)))
    joins = tuple(_joins(joined, observations, standing is not None, Evidence(observations, parts)))
    yield from (finding for finding, _ in joins)
    observations = without_joined(observations, (claim for _, claim in joins))
    if standing is not None and standing.way.fault is not None:
        about = explain.about_standing(standing, observations)
        yield _finding(standing.way.fault, standing.chance, standing.rivals, about, Evidence(observations, parts))
        if not standing.way.moves:
            return
        observations, unreachable = set_right(observations, standing.way.moves)
        left_out |= unreachable
    evidence = Evidence(observations, parts, left_out)
    if standing is None:
        yield from find_strange(evidence, priors, off)
        if Rule.DIODES not in off:
            for claim in find_diode_faults(observations, parts, priors):
                yield _finding(claim.fault, claim.chance, (), explain.about_diode(claim), evidence)
                if claim.fault.kind is FaultKind.DIODE_FAULT and not claim.both_ways:
                    left_out |= frozenset(claim.fault.keys)
            evidence = Evidence(observations, parts, left_out)
        for pin in find_one_way(observations, parts):
            told = say.one_way(pin.fault.lines[0], len(pin.presses), pin.driven)
            yield _finding(pin.fault, pin.chance, (pin.rival,), (told,), evidence)
    bouncing = tuple(find_bouncing(evidence, priors)) if Rule.BOUNCE not in off else ()
    for bounce in bouncing:
        yield _finding(bounce.fault, bounce.chance, bounce.rivals, explain.about_bounce(bounce), evidence)
    evidence = Evidence(without_bounce(evidence.observations, bouncing), parts, left_out)
    hypotheses = all_hypotheses(parts, priors, off)
    if Rule.STRETCHES not in off:
        hypotheses += tuple(breaks_of_unknown_routes(parts, evidence.silent, evidence.seen, priors))
    case = build_case(evidence, hypotheses, priors, off)
    for accused in infer(case, priors, off):
        yield _claimed(accused, case)


def _claimed(claim: Claim, case: Case) -> Finding:
    rivals = [(hypothesis.fault, chance) for hypothesis, chance in claim.rivals]
    about = explain.about_claim(claim, case) + about_reseats(claim.hypothesis.fault, case.evidence)
    (fault, chance), *alike = _over_twins(claim.hypothesis.fault, claim.chance, case.evidence)
    others = [each for rival in rivals for each in _over_twins(*rival, case.evidence)]
    return _finding(fault, chance, [*alike, *others], about, case.evidence, _zone(claim, case))


def _over_twins(fault: Fault, chance: float, evidence: Evidence) -> list[tuple[Fault, float]]:
    """A contact that comes and goes, and the others that read like it where nobody said which key was pressed."""
    if fault.kind is not FaultKind.INTERMITTENT_CONTACT or fault.keys[0] in evidence.named:
        return [(fault, chance)]
    keys = (*fault.keys, *evidence.parts.twins.get(fault.keys[0], ()))
    return [(replace(fault, keys=(key,)), chance / len(keys)) for key in keys]


def _joins(
    joined: JoinedLines, observations: Observations, moved: bool, evidence: Evidence
) -> Iterator[tuple[Finding, JoinClaim]]:
    """Findings of joined lines; what reads where no key stands may be the keys of another place or keyboard.

    Joins that come and go are no faults of their own where the lines stand elsewhere (they are keys and pairs of keys seen in
    the wrong place), nor where two keys that never read closed hang on one line (it is open, and they were down together).
    """
    strange = {frozenset(pair) for pair in observations.elsewhere}
    for claim in joined.claims:
        (fault, chance), *rivals = claim.options
        if fault.steadiness is Steadiness.INTERMITTENT and (moved or film_of_mute_keys(fault.lines, evidence)):
            continue
        if frozenset(fault.lines) in strange and (moved or len(strange) >= LEAST_PLACES):
            continue
        yield _finding(fault, chance, rivals, explain.about_join(claim, evidence.parts), evidence), claim


def _foreign(held: list[str], observations: Observations, priors: Priors) -> Finding:
    fault = Fault(FaultKind.FOREIGN_VOLTAGE, tuple(held))
    harness = Fault(FaultKind.HARNESS_FAULT, tuple(held))
    about = tuple(say.held(line, observations.held[line].value) for line in held)
    return Finding(fault, 0.95, about, (Rival(harness, 0.05),), say.STEP_FOREIGN)


def _finding(
    fault: Fault,
    chance: float,
    rivals: Iterable[tuple[Fault, float]],
    about: tuple[str, ...],
    evidence: Evidence,
    zone: str | None = None,
) -> Finding:
    weighed: dict[Fault, float] = {}
    for other, part in rivals:
        if other != fault:
            weighed[other] = weighed.get(other, 0.0) + part
    ordered = sorted(weighed.items(), key=lambda item: (-_cut(item[1]), item[0].sort_key))
    kept = _most([(other, _cut(part)) for other, part in ordered if part >= LEAST_RIVAL])
    step = best_step([(fault, chance), *kept], evidence)
    reseated = was_reseated(evidence)
    return Finding(
        fault,
        _cut(chance),
        about,
        tuple(Rival(other, part) for other, part in kept),
        repair_step(fault, evidence.parts, reseated=reseated) if step is None else step.text,
        zone,
        distance_mm(evidence.parts.layout, fault.place) if fault.kind is FaultKind.BROKEN_TRACE else None,
    )


def _most(rivals: list[tuple[Fault, float]]) -> list[tuple[Fault, float]]:
    """The first few; of those that are equal none is dropped for its name alone."""
    if len(rivals) <= MOST_RIVALS:
        return rivals
    return [each for each in rivals[:MOST_RIVALS] if each[1] > rivals[MOST_RIVALS][1]]


def _cut(chance: float) -> float:
    """Three decimals, never rounded up; a finding is never certain."""
    return math.floor(min(max(chance, 0.0), 0.999) * 1000 + 1e-9) / 1000


def _zone(claim: Claim, case: Case) -> str | None:
    """The flexed zone that moves the fault."""
    return flexed(explain.episodes_of(claim, case), claim.hypothesis.silences, case.exposure).moving
