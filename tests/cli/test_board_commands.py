"""`prove`, `report` and `practice --serve` from the command line."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from tailwise.cli.main import main

ROOT = Path(__file__).resolve().parents[2]


def test_prove_gives_0_for_a_board_that_keeps_the_rules(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["prove", "--port", "practice:sound", "--json"]) == 0
    said = capsys.readouterr()
    assert json.loads(said.out)["passed"] is True
    assert "pass" in said.err


def test_prove_needs_a_board(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "run.twrec"
    main(["test", "--port", "practice:sound", "--layout", "demo-7x6", "--seconds", "1", "--record", str(path)])
    assert main(["prove", "--port", f"replay:{path}"]) == 2


def test_report_writes_one_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, page = tmp_path / "run.twrec", tmp_path / "page.html"
    main(["test", "--port", "practice:dead-key", "--layout", "demo-7x6", "--every-key-pressed", "--record", str(path)])
    assert main(["report", str(path), "-o", str(page)]) == 0
    assert page.read_text(encoding="utf-8").lstrip().startswith("<!doctype html")
    before = path.read_bytes()
    assert main(["report", str(path), "-o", str(path)]) == 2
    assert path.read_bytes() == before


def test_a_served_scenario_is_a_port_like_any_other(capsys: pytest.CaptureFixture[str]) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "tailwise", "practice", "sound", "--serve"],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": str(ROOT / "host")},
        text=True,
    )
    killer = threading.Timer(60, process.kill)
    killer.start()
    try:
        assert process.stdout is not None
        path = process.stdout.readline().strip()
        assert main(["test", "--port", path, "--layout", "demo-7x6", "--seconds", "0.5", "--json"]) == 4
        assert json.loads(capsys.readouterr().out)["link"]["frames"] > 10
    finally:
        killer.cancel()
        process.terminate()
        process.communicate()
