"""`tailwise judge --priors`: a shop's own table of how common each fault is."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tailwise.cli.main import main


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("priors") / "open.twrec"
    main(["test", "--port", "practice:open-column", "--layout", "demo-7x6", "--every-key-pressed", "--record", str(path)])
    return path


def test_a_shops_table_shifts_the_probabilities(recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "shop.yaml"
    table.write_text("format: tailwise-priors/1\nharness_lead: 0.3\n")
    main(["judge", str(recording), "--json"])
    plain = json.loads(capsys.readouterr().out)["findings"]
    main(["judge", str(recording), "--json", "--priors", str(table)])
    shop = json.loads(capsys.readouterr().out)["findings"]
    assert plain[0]["kind"] == "open_line"
    assert shop[0]["kind"] == "harness_fault"
    assert plain[0]["probability"] != shop[0]["probability"]


def test_batches_and_runs_take_the_table_too(recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "shop.yaml"
    table.write_text("format: tailwise-priors/1\nharness_lead: 0.3\n")
    main(["judge", str(recording.parent), "--json", "--priors", str(table)])
    batch = json.loads(capsys.readouterr().out)[0]["findings"]["findings"]
    run = ["test", "--port", f"replay:{recording}", "--layout", "demo-7x6", "--every-key-pressed", "--json"]
    main([*run, "--priors", str(table)])
    live = json.loads(capsys.readouterr().out)["findings"]
    assert batch[0]["kind"] == live[0]["kind"] == "harness_fault"


def test_a_bad_table_names_file_line_and_key(recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "shop.yaml"
    table.write_text("format: tailwise-priors/1\ndead_contacts: 0.1\n")
    assert main(["judge", str(recording), "--priors", str(table)]) == 2
    said = capsys.readouterr().err
    assert f"{table}:2: dead_contacts" in said and "dead_contact?" in said
