"""Exports of a recording, read back by code that shares nothing with what wrote them."""

from __future__ import annotations

import csv
from itertools import pairwise
from pathlib import Path

import pytest

from tailwise.cli.main import main
from tailwise.judge.judge import fed_judge
from tailwise.model.observation import Observations
from tailwise.recording.reader import read_recording
from tests.cli.vcd_reader import Dump, read_vcd


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A run with bounce, marks and a lost link."""
    path = tmp_path_factory.mktemp("export") / "run.twrec"
    main(["test", "--port", "practice:unplugged", "--layout", "demo-7x6", "--label", "$end of\nit", "--record", str(path)])
    return path


@pytest.fixture(scope="module")
def seen(recording: Path) -> Observations:
    return fed_judge(read_recording(recording)).observations()


@pytest.fixture(scope="module")
def dump(recording: Path) -> Dump:
    target = recording.with_suffix(".vcd")
    assert main(["export", str(recording), "--vcd", str(target)]) == 0
    return read_vcd(target.read_text(encoding="ascii"))


def test_the_unit_is_a_microsecond_and_every_key_has_a_wire(dump: Dump, seen: Observations) -> None:
    assert dump.timescale == "1 us"
    keys = [name for name in dump.names if name.startswith("keys.")]
    assert len(keys) == len(seen.layout.keys)
    assert "keys.SPACE" in keys and "keys.k1" in keys
    assert dump.end >= seen.end_us


def test_every_press_is_a_closed_wire(dump: Dump, seen: Observations) -> None:
    assert seen.presses
    for press in seen.presses:
        name = f"keys.k{press.key}" if press.key[0].isdigit() else f"keys.{press.key}"
        changes = dict(dump.changes[dump.names[name]])
        assert changes[press.start_us] == "1"
        if press.end_us is not None:
            assert dump.level_at(name, press.end_us + 2 * seen.scan_us) == "0"  # the other direction opens up to a scan later


def test_what_nobody_saw_is_x_and_never_open(dump: Dump, seen: Observations) -> None:
    (blind,) = seen.blind
    for name in dump.names:
        if dump.kinds[name] == "wire":
            assert dump.level_at(name, blind.start_us) == "x"
            assert dump.level_at(name, blind.end_us - 1) == "x"
            assert dump.level_at(name, blind.end_us) in "01"


def test_a_wire_changes_only_when_it_changes(dump: Dump) -> None:
    for code, changes in dump.changes.items():
        if code != dump.names["operator.mark"]:
            values = [value for _, value in changes]
            assert all(before != after for before, after in pairwise(values))


def test_marks_are_events_with_a_comment(recording: Path, tmp_path: Path) -> None:
    path = tmp_path / "marked.twrec"
    main(["test", "--port", "practice:coming-and-going-column", "--layout", "demo-7x6", "--record", str(path)])
    assert main(["export", str(path), "--vcd", str(tmp_path / "v")]) == 0
    dump = read_vcd((tmp_path / "v").read_text())
    marks = fed_judge(read_recording(path)).observations().marks
    assert [time for time, _ in dump.changes[dump.names["operator.mark"]]] == [mark.at_us for mark in marks]
    assert [text.split()[0] for _, text in dump.comments] == [mark.do.value for mark in marks]


def test_the_table_holds_every_press_blind_stretch_and_transition(recording: Path, seen: Observations, tmp_path: Path) -> None:
    target = tmp_path / "table.csv"
    assert main(["export", str(recording), "--csv", str(target)]) == 0
    with target.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [int(row["t_us"]) for row in rows] == sorted(int(row["t_us"]) for row in rows)
    presses = [(row["keys"], int(row["t_us"])) for row in rows if row["what"] == "press"]
    assert sorted(presses) == sorted((press.key, press.start_us) for press in seen.presses)
    assert [(int(row["t_us"]), int(row["until_us"])) for row in rows if row["what"] == "blind"] == [
        (blind.start_us, blind.end_us) for blind in seen.blind
    ]
    closures = sum(seen.closures.values())
    assert sum(row["what"] == "transition" and row["value"] == "closed" for row in rows) >= closures


def test_a_recording_without_a_start_exports_too(tmp_path: Path) -> None:
    path, target = tmp_path / "held.twrec", tmp_path / "held.vcd"
    main(["test", "--port", "practice:foreign-voltage", "--layout", "demo-7x6", "--record", str(path)])
    assert main(["export", str(path), "--vcd", str(target), "--csv", str(tmp_path / "c")]) == 0
    dump = read_vcd(target.read_text())
    assert all(values == [(0, "x")] for code, values in dump.changes.items() if code != dump.names["operator.mark"])


def test_exports_never_overwrite_their_recording(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = recording.read_bytes()
    assert main(["export", str(recording), "--vcd", str(recording)]) == 2
    assert recording.read_bytes() == before
    assert main(["export", str(recording)]) == 2
    assert "--vcd" in capsys.readouterr().err
