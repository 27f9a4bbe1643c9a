"""Deliberately broken boards: each breaks one rule, and says which others fall with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tests.conformance.minimal_board import MinimalBoard


@dataclass(frozen=True)
class Mutant:
    """A broken board. also: rules that cannot hold when this one is broken so; spreads: there are too many to name."""

    board: type[MinimalBoard]
    rule: str
    also: frozenset[str]
    spreads: bool


MUTANTS: list[Mutant] = []


def breaks(rule: str, *also: str, spreads: bool = False) -> Callable[[type[MinimalBoard]], type[MinimalBoard]]:
    """Mark a board as the mutant of a rule."""

    def mark(board: type[MinimalBoard]) -> type[MinimalBoard]:
        MUTANTS.append(Mutant(board, rule, frozenset(also), spreads))
        return board

    return mark
