"""`tailwise ledger` as a person uses it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tailwise.cli.main import main


@pytest.fixture(scope="module")
def recordings(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The same keyboard before and after a repair."""
    folder = tmp_path_factory.mktemp("runs")
    paths = []
    for scenario in ("open-column", "sound"):
        path = folder / f"{scenario}.twrec"
        call = ["test", "--port", f"practice:{scenario}", "--layout", "demo-7x6", "--every-key-pressed", "--label", "KB-1"]
        main([*call, "--record", str(path)])
        paths.append(str(path))
    return paths


def call(tmp_path: Path, *arguments: str) -> int:
    return main(["ledger", "--ledger", str(tmp_path / "ledger.sqlite"), *arguments])


def test_before_and_after_a_repair(recordings: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert call(tmp_path, "add", recordings[0], "--connector", "J1") == 0
    assert call(tmp_path, "add", recordings[1], "--stage", "tail trimmed", "--connector", "J1") == 0
    assert call(tmp_path, "set", "KB-1", "--owner", "M. Holt", "--notes", "left shift sticky", "--donor", "no") == 0
    capsys.readouterr()
    assert call(tmp_path, "compare", "1", "2") == 0
    assert "gone         open line C3" in capsys.readouterr().out
    assert call(tmp_path, "show", "KB-1") == 0
    assert "tail trimmed: no findings" in capsys.readouterr().out
    assert call(tmp_path, "list", "holt", "--json") == 0
    (entry,) = json.loads(capsys.readouterr().out)
    assert (entry["label"], entry["runs"], entry["last_verdict"]) == ("KB-1", 2, "sound")
    assert call(tmp_path, "show", "2", "--json") == 0
    (run,) = json.loads(capsys.readouterr().out)
    assert run["stage"] == "tail trimmed" and run["keys"]["Y"]["presses"] > 0 and run["board"]


def test_csv_extract_backup_restore_and_lots(recordings: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    call(tmp_path, "add", *recordings)
    assert call(tmp_path, "csv", "-o", str(tmp_path / "runs.csv")) == 0
    assert len((tmp_path / "runs.csv").read_text().splitlines()) == 3
    assert call(tmp_path, "extract", "1", str(tmp_path / "one.twrec")) == 0
    assert (tmp_path / "one.twrec").read_bytes() == Path(recordings[0]).read_bytes()
    assert call(tmp_path, "backup", str(tmp_path / "copy.sqlite")) == 0
    assert main(["ledger", "--ledger", str(tmp_path / "fresh.sqlite"), "restore", str(tmp_path / "copy.sqlite")]) == 0
    capsys.readouterr()
    assert main(["ledger", "--ledger", str(tmp_path / "fresh.sqlite"), "stats"]) == 0
    assert "demo-7x6: 1" in capsys.readouterr().out
    assert call(tmp_path, "lot", "--sample", "68", "--allowed", "2") == 0
    said = capsys.readouterr().out
    assert "67 more to test" in said and "1.21%" in said and "8.97%" in said


def test_mistakes_end_with_two_and_say_what_to_do(
    recordings: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    call(tmp_path, "add", recordings[0])
    for arguments in (
        ["show", "KB-2"],
        ["add", recordings[0]],
        ["compare", "1", "9"],
        ["lot", "--sample", "0", "--allowed", "0"],
    ):
        assert call(tmp_path, *arguments) == 2, arguments
    said = capsys.readouterr().err
    assert "did you mean KB-1?" in said and "already run 1 of KB-1" in said and "no run 9" in said and "1 to 10000" in said


def test_a_worn_connector_is_named(recordings: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from tailwise.ledger.store import Ledger

    ledger = Ledger(tmp_path / "ledger.sqlite")
    ledger.mate("J1", 19)
    ledger.close()
    assert call(tmp_path, "add", recordings[0], "--connector", "J1") == 0
    assert "J1 has seen 20 matings" in capsys.readouterr().err
    assert call(tmp_path, "connectors", "--new", "J1") == 0
    assert "J1                      0" in capsys.readouterr().out
