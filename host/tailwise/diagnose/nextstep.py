"""The step that would tell the rivals apart best for what it costs.

Idea: each rival predicts how likely the outcomes of a step are; the gain is the expected drop of entropy (bits) over the
rivals, the price seconds of work plus wear counted as seconds (reseating scrapes ink). The step with the largest gain
per second is next; where no step gains anything, the finding's own repair step stands.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tailwise.diagnose.components import Components
from tailwise.diagnose.evidence import Evidence
from tailwise.diagnose.gde import entropy
from tailwise.diagnose.place import distance_mm
from tailwise.model.fault import Fault, FaultKind, Steadiness
from tailwise.model.mark import Deed
from tailwise.words import diagnosis as say

LEAST_GAIN_BITS = 0.02
MOST_WITNESSED = 3
"""witness keys are looked for among this many of the likeliest faults"""
TAIL_ZONES = ("fold", "tail", "socket", "neck")
"""zones in which a tail is bent"""
SURE = 0.97
"""how far a step's outcome can be trusted"""


@dataclass(frozen=True, slots=True)
class Cost:
    """Seconds of work, and wear counted as seconds."""

    work_s: float
    wear_s: float = 0.0

    @property
    def total_s(self) -> float:
        """Work and wear."""
        return self.work_s + self.wear_s


PRICES = {
    "press": Cost(3.0),
    "witness": Cost(25.0, 5.0),
    "flex": Cost(20.0, 10.0),
    "lift": Cost(30.0),
    "measure": Cost(40.0),
    "harness": Cost(60.0, 60.0),
    "reseat": Cost(60.0, 120.0),
    "diode": Cost(90.0),
    "probe": Cost(240.0),
}
"""work from the bench (common practice); wear: a socket lasts 10 to 30 matings, so one costs two minutes, half for the
harness's own plug"""


@dataclass(frozen=True, slots=True)
class Step:
    """Something to do. gain_bits: what it is expected to tell. keys: those to press or hold."""

    action: str
    text: str
    cost: Cost
    gain_bits: float
    keys: tuple[str, ...] = ()

    @property
    def worth(self) -> float:
        """Bits per second."""
        return self.gain_bits / self.cost.total_s


Beliefs = Sequence[tuple[Fault, float]]
Predict = Callable[[Fault], Sequence[float]]


def gain_bits(beliefs: Beliefs, predict: Predict) -> float:
    """Mutual information of a step's outcome and the rivals, bits; the beliefs need not sum to one."""
    total = math.fsum(chance for _, chance in beliefs)
    if total <= 0:
        return 0.0
    predicted = [(chance / total, predict(fault)) for fault, chance in beliefs]
    outcomes = len(predicted[0][1])
    mixed = [math.fsum(chance * row[index] for chance, row in predicted) for index in range(outcomes)]
    return max(0.0, entropy(mixed) - math.fsum(chance * entropy(row) for chance, row in predicted))


def best_step(beliefs: Beliefs, evidence: Evidence) -> Step | None:
    """The step worth most; None where none gains anything."""
    steps = [step for step in all_steps(beliefs, evidence) if step.gain_bits >= LEAST_GAIN_BITS]
    return max(steps, key=lambda step: step.worth, default=None)


def all_steps(beliefs: Beliefs, evidence: Evidence) -> list[Step]:
    """Every step that could tell these rivals apart, with its gain."""
    parts = evidence.parts
    faults = [fault for fault, _ in beliefs]
    lines = tuple(dict.fromkeys(line for fault in faults for line in fault.lines))
    kinds = {fault.kind for fault in faults}
    steps: list[Step] = []

    def add(action: str, text: str, predict: Predict, keys: tuple[str, ...] = ()) -> None:
        steps.append(Step(action, text, PRICES[action], gain_bits(beliefs, predict), keys))

    for key in _open_keys(faults, evidence):
        add("press", say.step_press(key), _silent(key, parts), (key,))
    if any(fault.steadiness is Steadiness.INTERMITTENT for fault in faults):
        for line, one, two in _witnesses(faults[:MOST_WITNESSED], parts):
            add("witness", say.step_witness(one, two, line), _witness(one, two), (one, two))
        held = next((fault.keys[-1] for fault in faults if fault.keys), None)
        zone = next((zone.name for zone in parts.layout.zones if zone.reachable and zone.name in TAIL_ZONES), None)
        if held is not None and zone is not None:
            add("flex", say.step_hold(held, zone), _flexed, (held,))
    if FaultKind.HARNESS_FAULT in kinds:
        add("harness", say.step_bare_harness(lines), _yes_no(lambda fault: fault.kind is FaultKind.HARNESS_FAULT))
        add("probe", say.step_past_socket(lines), _past_socket)
    if FaultKind.DIODE_FAULT in kinds:
        line = next(fault.lines[0] for fault in faults if fault.kind is FaultKind.DIODE_FAULT)
        add("diode", say.step_diode(line), _yes_no(lambda fault: fault.kind is FaultKind.DIODE_FAULT))
    if kinds & {FaultKind.SHORT, FaultKind.LEAK} and len(lines) >= 2:
        add("measure", say.step_measure(lines[0], lines[1]), _yes_no(lambda fault: fault.kind is FaultKind.LEAK))
    if FaultKind.STUCK_CONTACT in kinds:
        key = next(fault.keys[0] for fault in faults if fault.kind is FaultKind.STUCK_CONTACT)
        add(
            "lift",
            say.step_lift(key),
            _yes_no(lambda fault: fault.kind is FaultKind.STUCK_CONTACT and key in fault.keys),
            (key,),
        )
    if (
        kinds & {FaultKind.OPEN_LINE, FaultKind.CRACKED_TAIL, FaultKind.INTERMITTENT_LINE}
        and lines
        and not was_reseated(evidence)
    ):
        add("reseat", say.step_reseat(lines), _reseat)
    return steps


def was_reseated(evidence: Evidence) -> bool:
    """True where a mark says that a tail was put in anew."""
    return any(mark.do is Deed.RESEAT for mark in evidence.observations.marks)


def repair_step(fault: Fault, parts: Components, *, reseated: bool = False) -> str:
    """What to do when nothing is left to tell apart. reseated: the tail was put in anew in this run already."""
    kind, lines = fault.kind, fault.lines
    if reseated and kind is FaultKind.INTERMITTENT_LINE:
        zone = next((zone.name for zone in parts.layout.zones if zone.reachable and zone.name in TAIL_ZONES), None)
        return say.step_after_reseat(lines) if zone is None else say.step_hold(fault.keys[-1], zone)
    if reseated and kind in (FaultKind.OPEN_LINE, FaultKind.CRACKED_TAIL):
        return say.step_past_socket(lines)
    if kind in (FaultKind.OPEN_LINE, FaultKind.CRACKED_TAIL, FaultKind.INTERMITTENT_LINE, FaultKind.HARNESS_FAULT):
        return say.step_reseat(lines)
    if kind is FaultKind.BROKEN_TRACE:
        if fault.place is None:
            return say.step_look(lines[0], say.TAIL, say.END, None)
        after, before = fault.place.after or say.TAIL, fault.place.before or say.END
        return say.step_look(lines[0], after, before, distance_mm(parts.layout, fault.place))
    if kind is FaultKind.STUCK_CONTACT:
        return say.step_lift(fault.keys[0])
    if kind is FaultKind.SHORT:
        return say.step_measure(*lines)
    if kind is FaultKind.LEAK:
        return say.step_dry(*lines)
    if kind is FaultKind.TAIL_MISPLACED:
        return say.step_turn(lines)
    if kind is FaultKind.WRONG_LAYOUT:
        return say.step_layout(parts.layout.title)
    if kind is FaultKind.FOREIGN_VOLTAGE:
        return say.STEP_FOREIGN
    if kind is FaultKind.DIODE_FAULT:
        return say.step_diode(lines[0])
    return say.STEP_REPAIR_CONTACT


def _open_keys(faults: Sequence[Fault], evidence: Evidence) -> list[str]:
    """Keys that some rivals silence and others do not, and that have not answered yet."""
    named = [frozenset(fault.keys) | _inside(fault, evidence.parts) for fault in faults if fault.keys]
    if len(named) < 2:
        return []
    differing = frozenset[str]().union(*named) - named[0].intersection(*named)
    differing |= frozenset[str]().union(*(_inside(fault, evidence.parts) for fault in faults))
    return [
        key.id
        for key in evidence.parts.layout.keys
        if key.id in differing and key.id in evidence.records
        and not evidence.records[key.id].works and not evidence.records[key.id].is_silent
    ]  # fmt: skip


def _inside(fault: Fault, parts: Components) -> frozenset[str]:
    """Keys inside the stretch of a break: nobody knows on which side of it they are."""
    place = fault.place
    if fault.kind is not FaultKind.BROKEN_TRACE or place is None or place.before is None:
        return frozenset()
    path = parts.path(place.line, place.before)
    start = path.index(place.after) + 1 if place.after in path else 0
    return frozenset(path[start:-1])


def _silent(key: str, parts: Components) -> Predict:
    """Outcomes: the key stays silent, it closes."""

    def predict(fault: Fault) -> Sequence[float]:
        chance = 0.5 if key in _inside(fault, parts) else SURE if key in fault.keys else 1 - SURE
        return (chance, 1 - chance)

    return predict


def _witnesses(faults: Sequence[Fault], parts: Components) -> list[tuple[str, str, str]]:
    """For each accused line two keys that share only that line: the farthest along it, and one with the accused key."""
    found = []
    for fault in faults:
        accused = fault.keys[0] if fault.kind is FaultKind.INTERMITTENT_CONTACT else None
        lines = fault.lines or tuple(
            line for key in fault.keys for point in parts.layout.key_by_id[key].crosspoints for line in point
        )
        for line in lines:
            keys = parts.layout.keys_on.get(line, ())
            first = accused or (fault.keys[-1] if fault.keys and fault.keys[-1] in keys else None)
            if first is None:
                continue
            own = {name for point in parts.layout.key_by_id[first].crosspoints for name in point}
            for other in reversed(keys):
                lines_of_other = {name for point in parts.layout.key_by_id[other].crosspoints for name in point}
                if other != first and own & lines_of_other == {line}:
                    found.append((line, first, other))
                    break
    return found


def _yes_no(test: Callable[[Fault], bool]) -> Predict:
    return lambda fault: (SURE, 1 - SURE) if test(fault) else (1 - SURE, SURE)


def _witness(one: str, two: str) -> Predict:
    """Outcomes: both drop, one drops, none."""

    def predict(fault: Fault) -> Sequence[float]:
        if fault.steadiness is not Steadiness.INTERMITTENT:
            return (0.02, 0.03, 0.95)
        hit = {one, two} & set(fault.keys)
        return (0.75, 0.02, 0.23) if len(hit) == 2 else (0.02, 0.75, 0.23) if hit else (0.02, 0.03, 0.95)

    return predict


def _flexed(fault: Fault) -> Sequence[float]:
    """Outcomes: drops out while the tail is flexed, does not."""
    if fault.kind is FaultKind.INTERMITTENT_LINE:
        return (0.75, 0.25)
    return (0.35, 0.65) if fault.kind is FaultKind.BROKEN_TRACE else (0.1, 0.9)


def _past_socket(fault: Fault) -> Sequence[float]:
    """Outcomes: works past the socket, does not."""
    if fault.kind is FaultKind.HARNESS_FAULT:
        return (SURE, 1 - SURE)
    return (0.4, 0.6) if fault.kind is FaultKind.OPEN_LINE else (1 - SURE, SURE)


def _reseat(fault: Fault) -> Sequence[float]:
    """Outcomes: changed by reseating, unchanged."""
    if fault.kind in (FaultKind.OPEN_LINE, FaultKind.INTERMITTENT_LINE) and len(fault.lines) == 1:
        return (0.5, 0.5)
    if fault.kind in (FaultKind.CRACKED_TAIL, FaultKind.INTERMITTENT_LINE):
        return (0.2, 0.8)
    return (0.3, 0.7) if fault.kind is FaultKind.HARNESS_FAULT else (0.02, 0.98)
