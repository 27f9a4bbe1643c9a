"""Two runs of one keyboard judged as one: before and after reseating, or at the tail and past the socket."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tailwise.diagnose.priors import DEFAULT_PRIORS, Priors
from tailwise.diagnose.reseat import Between, diagnose_pair
from tailwise.judge.document import build
from tailwise.judge.judge import Judge
from tailwise.verdict.decide import decide
from tailwise.verdict.rubric import Rubric


@dataclass(frozen=True, slots=True)
class PairJudgement:
    """The findings document of both runs (coverage and link are those of the second), and what neither run tested."""

    document: dict[str, Any]
    not_tested: tuple[str, ...]


def judge_pair(
    first: Judge, second: Judge, between: Between, *, rubric: Rubric | None = None, priors: Priors = DEFAULT_PRIORS
) -> PairJudgement:
    """Judge two runs that were fed whole; ValueError where they are of different layouts."""
    observations = second.observations()
    both = diagnose_pair(first.observations(), observations, between, priors)
    decision = decide(observations, both.findings, rubric)
    document = build(second.layout.id, second.label or first.label, decision, both.findings, observations.link)
    return PairJudgement(document, both.not_tested)
