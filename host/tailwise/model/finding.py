"""A diagnosis: faults with how sure, why, what else it could be, and what to do next."""

from __future__ import annotations

from dataclasses import dataclass

from tailwise.model.fault import Fault


@dataclass(frozen=True, slots=True)
class Rival:
    """Another fault that explains the same evidence; probability 0..1."""

    fault: Fault
    probability: float


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault the evidence speaks for.

    probability: 0..1, together with the rivals at most 1. evidence: sentences that name records (frame numbers, times),
    keys and lines. zone: flex zone that moves it. distance_mm: low, best, high from the tail.
    """

    fault: Fault
    probability: float
    evidence: tuple[str, ...]
    rivals: tuple[Rival, ...] = ()
    next_step: str = ""
    zone: str | None = None
    distance_mm: tuple[float, float, float] | None = None
