"""`tailwise try` without a terminal."""

from __future__ import annotations

import pytest

from tailwise.cli.main import main


def test_without_a_terminal_the_same_scenario_is_run_and_judged(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["try", "open-column"]) == 0
    said = capsys.readouterr()
    assert "FAULTY" in said.out and "open line" in said.out and "C3" in said.out
    assert "no terminal" in said.err


def test_an_unknown_scenario_names_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["try", "open-colunm"]) == 2
    assert "open-column" in capsys.readouterr().err
