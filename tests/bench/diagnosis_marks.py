"""How one run is marked: what counts as right, against the class of faults that no press tells from the truth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tailwise.model.fault import Fault, FaultKind, Steadiness
from tailwise.model.finding import Finding
from tailwise.model.layout import Layout
from tailwise.verdict.decide import Verdict, decide
from tests.bench.diagnosis_runs import Played
from tests.bench.diagnosis_truth import CUTS, JOINS, same_to_every_press, silenced

SHOWN_ENOUGH = 3
ASKED_ENOUGH = 3


@dataclass(frozen=True)
class Marked:
    """One run's marks. stated: the probability of each finding and whether it named the very fault planted."""

    name: str
    right: bool
    wrong_kind: bool = False
    wrong_place: bool = False
    missed: bool = False
    false_alarms: int = 0
    truth_chance: float = 0.0
    stated: tuple[tuple[float, bool], ...] = ()
    called_sound: bool = False
    called_faulty: bool = False
    counted: bool = True


def mark_sound(name: str, played: Played, findings: Sequence[Finding]) -> Marked:
    """A sound membrane: anything said is wrong."""
    verdict = decide(played.observations, findings).verdict
    return Marked(name, not findings, false_alarms=len(findings), called_faulty=verdict is Verdict.FAULTY)


def mark_other(played: Played, findings: Sequence[Finding]) -> Marked:
    """Another keyboard than the layout's: that, and nothing else."""
    right = [each.fault.kind for each in findings] == [FaultKind.WRONG_LAYOUT]
    return Marked(
        "wrong_layout",
        right,
        wrong_kind=bool(findings) and not right,
        missed=not findings,
        truth_chance=max((each.probability for each in findings if each.fault.kind is FaultKind.WRONG_LAYOUT), default=0.0),
        called_sound=decide(played.observations, findings).verdict is Verdict.SOUND,
    )


def mark_one(name: str, layout: Layout, truth: Fault, played: Played, findings: Sequence[Finding]) -> Marked:
    """One planted fault."""
    equals = _class_of(layout, truth, played)
    flickers = truth.steadiness is Steadiness.INTERMITTENT
    hit = next((each for each in findings if (flickers or each.fault in equals) and truth in _named(each)), None)
    same_kind = [each for each in findings if each.fault.kind is truth.kind and each.fault.lines == truth.lines]
    return Marked(
        name,
        hit is not None,
        wrong_kind=hit is None and bool(findings) and not same_kind,
        wrong_place=hit is None and bool(same_kind),
        missed=not findings,
        false_alarms=max(0, len(findings) - 1),
        truth_chance=max((_named(each).get(truth, 0.0) for each in findings), default=0.0),
        stated=tuple((each.probability, each.fault == truth) for each in findings),
        called_sound=decide(played.observations, findings).verdict is Verdict.SOUND,
        counted=not flickers or times_shown(truth, played) >= SHOWN_ENOUGH,
    )


def mark_two(layout: Layout, truths: Sequence[Fault], played: Played, findings: Sequence[Finding]) -> Marked:
    """Two planted faults: both named, or the same silence explained by no more faults."""
    cuts = [each for each in truths if each.kind in CUTS]
    joins = [each for each in truths if each.kind in JOINS]
    named = [_named(each) for each in findings]
    reported = [each.fault for each in findings if each.fault.kind in CUTS]
    both = all(any(truth in each for each in named) for truth in cuts)
    tried = tried_keys(played)
    same = silenced(layout, reported) & tried == silenced(layout, cuts) & tried and len(reported) <= len(cuts)
    right = (both or same) and all(any(truth in each for each in named) for truth in joins)
    return Marked(
        "two faults",
        right,
        missed=not findings,
        false_alarms=max(0, len(findings) - len(truths)),
        called_sound=decide(played.observations, findings).verdict is Verdict.SOUND,
    )


def tried_keys(played: Played) -> frozenset[str]:
    """Keys that a finger reached, or that were asked for often enough."""
    asked: dict[str, int] = {}
    for attempt in played.observations.attempts:
        asked[attempt.key] = asked.get(attempt.key, 0) + 1
    often = {key for key, count in asked.items() if count >= ASKED_ENOUGH}
    return frozenset(often | {finger.key for finger in played.fingers})


def times_shown(truth: Fault, played: Played) -> int:
    """How often an intermittent fault opened while one of its keys was held."""
    keys = set(truth.keys)
    openings = [each for each in played.observations.dropouts if keys & set(each.lost)]
    return len(openings)


def _class_of(layout: Layout, truth: Fault, played: Played) -> frozenset[Fault]:
    """The faults that would have looked the same."""
    if truth.kind in (FaultKind.SHORT, FaultKind.LEAK):
        return frozenset(Fault(kind, truth.lines) for kind in (FaultKind.SHORT, FaultKind.LEAK))
    if truth.kind in CUTS:
        return same_to_every_press(layout, truth, tried_keys(played)) | {truth}
    if truth.kind is FaultKind.DIODE_FAULT and not set(truth.keys) & {press.key for press in played.observations.presses}:
        return same_to_every_press(layout, truth, tried_keys(played)) | {truth}
    return frozenset({truth})


def _named(finding: Finding) -> dict[Fault, float]:
    """A finding and its rivals with their chances; a leak that flickers is the leak."""
    named = {rival.fault: rival.probability for rival in finding.rivals} | {finding.fault: finding.probability}
    return named | {
        Fault(fault.kind, fault.lines): chance
        for fault, chance in named.items()
        if fault.kind in (FaultKind.SHORT, FaultKind.LEAK)
    }
