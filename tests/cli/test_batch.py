"""`tailwise judge` over folders."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tailwise.cli.batch import find_recordings, judge_all
from tailwise.cli.main import main


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("batch")
    (folder / "deeper").mkdir()
    for scenario, place in (("open-column", folder), ("sound", folder / "deeper")):
        call = ["test", "--port", f"practice:{scenario}", "--layout", "demo-7x6", "--every-key-pressed"]
        main([*call, "--record", str(place / f"{scenario}.twrec")])
    for number in range(4):
        shutil.copy(folder / "open-column.twrec", folder / f"copy-{number}.twrec")
    (folder / "notes.txt").write_text("not a recording")
    return folder


def test_a_folder_is_judged_with_a_summary(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["judge", str(folder)]) == 1
    said = capsys.readouterr().out
    assert "6 recordings" in said and "notes.txt" not in said
    assert [line.split() for line in said.splitlines()[-2:]] == [["faulty", "5", "83.3%"], ["sound", "1", "16.7%"]]


def test_several_processes_judge_as_one_does(folder: Path) -> None:
    paths = find_recordings([folder])
    assert list(judge_all(paths, cores=2)) == list(judge_all(paths, cores=1))


def test_an_unreadable_one_stops_nothing(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["judge", "--json", str(folder / "notes.txt"), str(folder / "deeper"), str(folder / "none.twrec")]) == 2
    said = capsys.readouterr()
    results = json.loads(said.out)
    assert [each["findings"] and each["findings"]["verdict"] for each in results] == [None, "sound", None]
    assert "notes.txt:1:" in said.err and "none.twrec" in said.err


def test_one_recording_with_a_shops_rubric(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rubric = tmp_path / "rubric.yaml"
    rubric.write_text("format: tailwise-rubric/1\ngrades: [B]\nrules: [{grade: B, because: ours, to_raise: none}]\n")
    assert main(["judge", str(folder / "open-column.twrec"), "--json", "--rubric", str(rubric)]) == 1
    assert json.loads(capsys.readouterr().out)["grade"] == "B"
