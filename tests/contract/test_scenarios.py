"""Every shipped scenario through the command line: its findings, its exit code, and the same bytes from its recording."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tailwise.cli.main import main
from tailwise.practice.catalogue import find_scenario, list_scenarios, scenario_names

EXIT = {"sound": 0, "faulty": 1, "unproven": 3, "untestable": 4}


@pytest.mark.parametrize("name", scenario_names())
def test_findings_exit_code_and_bytes(name: str, tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    scenario = find_scenario(name).to_json()
    record = tmp_path / "run.twrec"
    call = ["--port", f"practice:{name}", "--layout", scenario["layout"], "--every-key-pressed", "--json"]
    code = main(["test", *call, "--record", str(record)])
    live = capfdbinary.readouterr().out
    document: dict[str, Any] = json.loads(live)
    found = [{field: finding[field] for field in ("kind", "lines", "keys", "place")} for finding in document["findings"]]
    assert found == scenario["expect"]
    assert code == EXIT[document["verdict"]]
    assert code == (0 if not scenario["expect"] else 4 if document["verdict"] == "untestable" else 1)
    for _ in range(2):
        assert main(["judge", str(record), "--json"]) == code
        assert capfdbinary.readouterr().out == live


def test_what_a_scenario_plants_and_expects_never_enters_a_recording(tmp_path: Path) -> None:
    record = tmp_path / "run.twrec"
    main(["test", "--port", "practice:dead-key", "--layout", "demo-7x6", "--json", "--record", str(record)])
    text = record.read_text()
    story = find_scenario("dead-key").to_json()["story"]
    assert "dead_contact" not in text and "expect" not in text and "dead-key" not in text and story not in text


def test_every_scenario_is_listed(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    assert main(["practice", "--list", "--json"]) == 0
    assert json.loads(capfdbinary.readouterr().out) == list_scenarios()
