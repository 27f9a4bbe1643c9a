"""`prove` over deliberately broken boards: the right rule fails, and no other without a reason."""

from __future__ import annotations

import pytest

from tailwise.conformance.rule import Outcome
from tailwise.conformance.run import RULES, prove
from tests.conformance import mutants_commands, mutants_damage, mutants_log, mutants_runs, mutants_watch
from tests.conformance.bench import VirtualLink, busy_keyboard
from tests.conformance.mutant import MUTANTS, Mutant

MODULES = (mutants_commands, mutants_damage, mutants_log, mutants_runs, mutants_watch)


@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda mutant: f"{mutant.rule}-{mutant.board.__name__}")
def test_a_broken_board_fails_its_rule(mutant: Mutant) -> None:
    report = prove(VirtualLink(mutant.board(busy_keyboard)))
    failed = {result.id for result in report.of(Outcome.FAIL)}
    assert mutant.rule in failed
    assert report.exit_code == 1
    if not mutant.spreads:
        assert failed == {mutant.rule} | mutant.also


def test_every_rule_has_a_mutant() -> None:
    assert {rule.id for rule in RULES} == {mutant.rule for mutant in MUTANTS}
    assert {mutant.board.__module__ for mutant in MUTANTS} == {module.__name__ for module in MODULES}
