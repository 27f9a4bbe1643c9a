"""`prove` over the practice bench's board: another implementation, with a membrane and an operator behind it."""

from __future__ import annotations

import pytest

from tailwise.conformance.rule import Outcome
from tailwise.conformance.run import prove
from tailwise.layoutfile.library import find_layout
from tailwise.practice.bench import open_practice
from tailwise.practice.boardkind import BoardKind
from tailwise.practice.link import BenchLink
from tailwise.practice.operator import Press, Still
from tailwise.practice.virtual import Bench, Setup


def test_the_practice_board_keeps_every_rule() -> None:
    report = prove(open_practice("sound"))
    assert [(result.id, result.seen) for result in report.of(Outcome.FAIL)] == []
    assert [result.id for result in report.of(Outcome.NOT_APPLICABLE)] == ["held_line"]


@pytest.mark.parametrize("line_count", [13, 24, 40])
def test_practice_boards_of_other_sizes_over_the_wrap_of_their_clock(line_count: int) -> None:
    kind = BoardKind(line_count=line_count, clock_start=(1 << 32) - 12_000_000)
    script = (Press(times=3), Still(60))
    report = prove(BenchLink(Bench(Setup(find_layout("demo-7x6"), script, board=kind))))
    assert [(result.id, result.seen) for result in report.of(Outcome.FAIL)] == []
    assert not report.ended


def test_a_foreign_voltage_on_the_practice_bench_shows_the_refusal() -> None:
    report = prove(open_practice("foreign-voltage"))
    results = {result.id: result.outcome for result in report.results}
    assert results["held_line"] == Outcome.PASS
    assert report.passed
