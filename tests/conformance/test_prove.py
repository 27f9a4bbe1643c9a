"""`prove` over boards that keep the rules."""

from __future__ import annotations

from tailwise.conformance.rule import Outcome
from tailwise.conformance.run import RULES, prove
from tests.conformance.bench import VirtualLink, busy_keyboard
from tests.conformance.minimal_board import MinimalBoard


def test_the_minimal_board_of_the_prose_keeps_every_rule() -> None:
    report = prove(VirtualLink(MinimalBoard(busy_keyboard)))
    assert [(result.id, result.seen) for result in report.of(Outcome.FAIL)] == []
    assert [result.id for result in report.of(Outcome.NOT_APPLICABLE)] == ["held_line"]
    assert len(report.results) == len(RULES)
