"""`prove` over the real image in the simulated board, with a membrane that is pressed and bounces meanwhile."""

from __future__ import annotations

import random
from contextlib import closing

from tailwise.conformance.rule import Outcome
from tailwise.conformance.run import prove
from tests.simboard.board import SimBoard

PRESSED_US = 60_000_000
LIVELY = (3, 9)
"""A pair that opens and closes most, so that a watch has openings to tell."""


def test_the_firmware_keeps_every_rule_while_keys_are_pressed() -> None:
    rng = random.Random(7)
    with closing(SimBoard(watch=False)) as board:
        at = 600_000.0
        while at < PRESSED_US:
            row, column = LIVELY if rng.random() < 0.5 else (rng.randrange(7), rng.randrange(7, 13))
            for bounce in range(3):
                board.press(row, column, at + 400 * bounce, at + 400 * bounce + 250)
            board.press(row, column, at + 1500, at + rng.randrange(10_000, 60_000))
            at += rng.randrange(30_000, 200_000)
        report = prove(board)
    assert [(result.id, result.seen) for result in report.of(Outcome.FAIL)] == []
    assert [result.id for result in report.of(Outcome.NOT_APPLICABLE)] == ["held_line"]
    seen = {result.id: result.seen for result in report.results}
    assert int(seen["transitions_fit"].split()[0]) > 100
    assert int(seen["openings_counted"].split()[0]) > 20


def test_the_firmware_refuses_to_drive_a_held_line() -> None:
    with closing(SimBoard(watch=False)) as board:
        board.force(0, 5, 4.5, 1000)
        report = prove(board)
    assert [(result.id, result.seen) for result in report.of(Outcome.FAIL)] == []
    (held,) = [result for result in report.results if result.id == "held_line"]
    assert held.outcome == Outcome.PASS
    assert "detail 5" in held.seen
