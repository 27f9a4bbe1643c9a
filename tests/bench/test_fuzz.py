"""The fuzzer itself: it runs, and it would see what it looks for."""

from __future__ import annotations

import json
import random

import pytest

from tests.bench import fuzz
from tests.bench.common import run_bench
from tests.bench.fuzz_material import on_the_wire


def test_a_short_run_holds_every_bar_and_prints_one_object(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_bench("fuzz", fuzz.bench, runs=20_000, argv=["--runs", "150", "--seed", "4", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert (document["bench"], document["runs"], document["seed"]) == ("fuzz", 150, 4)
    assert all(bar["holds"] for bar in document["bars"])


def test_a_crash_is_counted_and_shown() -> None:
    tally = fuzz.Tally()
    tally.attempt(lambda: [].pop())
    tally.attempt(lambda: int("x"), ValueError)
    assert (tally.tried, tally.crashes, tally.counts) == (2, 1, {"refused": 1})
    assert "IndexError" in tally.line("some")


def test_a_codec_without_a_crc_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tailwise.wire.frames.crc16", lambda data: int.from_bytes(b"\x12\x34", "little"))
    monkeypatch.setattr("tests.bench.fuzz_material.crc", lambda data: int.from_bytes(b"\x12\x34", "little"))
    assert fuzz.fuzz_flips(300, random.Random(1), 1).counts["wrong frames"] > 0
    assert on_the_wire(6, 1, b"").endswith(b"\x12\x34\x00")
