"""From observations and findings to the verdict and the grade.

untestable: scanning never started, the link was not regained, a foreign voltage or a fault of the harness, or nothing at
all closed in the whole run. faulty: any finding. sound: the rest check done, every key seen closed, nothing unexplained;
presses that were vouched for and stayed silent more often than a hand misses, or dropouts without a finding, are doubts
(doubts.py).
unproven: the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from tailwise.model.fault import FaultKind
from tailwise.model.finding import Finding
from tailwise.model.mark import Deed
from tailwise.model.observation import Observations
from tailwise.observe.tried import presses_by_key
from tailwise.verdict.coverage import CoverageFacts, coverage_of
from tailwise.verdict.doubts import doubts_of
from tailwise.verdict.rubric import Grade, GradeFacts, Rubric, shipped_rubric

_NOT_THE_KEYBOARD = {FaultKind.FOREIGN_VOLTAGE, FaultKind.HARNESS_FAULT}
_ENDS_FLEX = {Deed.FLEX, Deed.STILL, Deed.RESEAT}


class Verdict(StrEnum):
    """The verdict, best first."""

    SOUND = "sound"
    FAULTY = "faulty"
    UNPROVEN = "unproven"
    UNTESTABLE = "untestable"


@dataclass(frozen=True, slots=True)
class Decision:
    """Verdict, grade with its reason, and what was tested."""

    verdict: Verdict
    grade: Grade
    coverage: CoverageFacts


def decide(observations: Observations, findings: Sequence[Finding], rubric: Rubric | None = None) -> Decision:
    """Judge one run; without a rubric by the shipped one."""
    coverage = coverage_of(observations)
    verdict = _verdict(observations, findings)
    facts = grade_facts(observations, findings, coverage, verdict)
    return Decision(verdict, (rubric or shipped_rubric()).grade(facts), coverage)


def grade_facts(
    observations: Observations, findings: Sequence[Finding], coverage: CoverageFacts, verdict: Verdict
) -> GradeFacts:
    """What a rubric may ask about this run."""
    bounces = [max(press.make_bounce_us, press.break_bounce_us) for press in observations.presses if press.certain]
    return GradeFacts(
        verdict=verdict.value,
        kinds=frozenset(finding.fault.kind.value for finding in findings),
        steadiness=frozenset(finding.fault.steadiness.value for finding in findings),
        untried=len(coverage.untried),
        least_presses=coverage.least_presses,
        miss_bound_95=coverage.miss_bound_95,
        worst_bounce_ms=max(bounces, default=0) / 1000,
        dropouts=len(observations.dropouts),
        flexed_s=flexed_us(observations) / 1e6,
    )


def flexed_us(observations: Observations) -> int:
    """How long the marks say something was flexed, microseconds; each lasts until the next flex, still or reseat."""
    turns = [mark for mark in observations.marks if mark.do in _ENDS_FLEX]
    spans = [(one.at_us, other.at_us) for one, other in pairwise(turns) if one.do is Deed.FLEX]
    if turns and turns[-1].do is Deed.FLEX:
        spans.append((turns[-1].at_us, observations.end_us))
    return sum(max(0, min(end, observations.end_us) - start) for start, end in spans)


def _verdict(observations: Observations, findings: Sequence[Finding]) -> Verdict:
    if not observations.started or observations.link_lost or not observations.closures:
        return Verdict.UNTESTABLE
    if any(finding.fault.kind in _NOT_THE_KEYBOARD for finding in findings):
        return Verdict.UNTESTABLE
    if findings:
        return Verdict.FAULTY
    if observations.rest_done and all(presses_by_key(observations).values()) and not doubts_of(observations):
        return Verdict.SOUND
    return Verdict.UNPROVEN
