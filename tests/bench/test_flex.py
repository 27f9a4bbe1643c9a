"""The flex benchmark itself: a short run holds its bars, and an engine that accuses everybody would be seen."""

from __future__ import annotations

import json

import pytest

from tailwise.model.fault import Fault, FaultKind
from tailwise.model.finding import Finding
from tests.bench import flex


def test_a_short_run_prints_one_object_and_holds_every_bar(capsys: pytest.CaptureFixture[str]) -> None:
    assert flex.main(["--runs", "4", "--seed", "8", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert (document["bench"], document["runs"], document["seed"]) == ("flex", 4, 8)
    assert len(document["bars"]) == 6


def test_an_engine_that_always_accuses_a_line_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    blind = Finding(Fault(FaultKind.INTERMITTENT_LINE, ("R1",)), 0.9, ())
    monkeypatch.setattr("tests.bench.flex.diagnose", lambda observations: (blind,))
    outcome = flex.bench(6, 1)
    failed = {bar.name for bar in outcome.bars if not bar.holds}
    assert {"contacts not called lines", "sound membranes accused", "whole keyboard within 6 minutes"} <= failed
