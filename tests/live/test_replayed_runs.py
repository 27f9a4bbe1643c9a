"""A replay as a run: the same findings, the same records, the same events as far as the recording tells them."""

from __future__ import annotations

from pathlib import Path

import pytest

from tailwise.live.events import Finished, LiveEvent
from tailwise.live.run import Run, RunSettings
from tailwise.recording.reader import read_recording
from tests.live.fake_board import FakeBoard, FakeLink
from tests.live.helpers import LAYOUT, names, run_events


def run(url: str, record: Path, **more: object) -> list[LiveEvent]:
    return list(Run(RunSettings(url, LAYOUT, record=record, progress_hz=0, **more)).events())  # type: ignore[arg-type]


def finished(events: list[LiveEvent]) -> Finished:
    last = events[-1]
    assert isinstance(last, Finished)
    return last


@pytest.mark.parametrize("scenario", ["unplugged", "foreign-voltage", "reversed-tail"])
def test_a_replay_gives_the_same_bytes_and_the_same_records(scenario: str, tmp_path: Path) -> None:
    first, second = tmp_path / "first", tmp_path / "second"
    live = run(f"practice:{scenario}", first, every_key_pressed=True, label="a label")
    again = run(f"replay:{first}", second)
    assert finished(live).data == finished(again).data
    assert read_recording(first).records == read_recording(second).records
    assert names(live) == names(again)


def test_a_torn_recording_replays_up_to_the_tear_and_says_so(tmp_path: Path) -> None:
    whole, torn = tmp_path / "whole", tmp_path / "torn"
    run("practice:sound", whole, seconds=4.0)
    data = whole.read_bytes()
    torn.write_bytes(data[: len(data) // 2])
    end = finished(run(f"replay:{torn}", tmp_path / "again"))
    assert any("torn" in note for note in end.notes)


def test_a_recording_of_silence_ends_by_itself(tmp_path: Path) -> None:
    board = FakeBoard()
    board.mute = True
    first = tmp_path / "first"
    run_events(board, record=first)
    assert finished(run(f"replay:{first}", tmp_path / "second")).document["verdict"] == "untestable"


def test_a_lost_link_never_regained_ends_the_replay(tmp_path: Path) -> None:
    first = tmp_path / "first"

    def plan(link: FakeLink) -> None:
        link.at(1_000_000, link.unplug)

    live = run_events(FakeBoard(), plan, record=first, regain_s=2.0, seconds=None)
    again = run(f"replay:{first}", tmp_path / "second")
    assert finished(live).data == finished(again).data
    assert "LinkDown" in names(again) and "LinkUp" not in names(again)
