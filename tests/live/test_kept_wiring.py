"""A run takes the wiring kept for its board, says so, and writes it into the recording."""

from __future__ import annotations

from pathlib import Path

import pytest

from tailwise.harness.store import keep_wiring
from tailwise.harness.wiring import Wiring, plain_wiring
from tailwise.judge.document import to_bytes
from tailwise.judge.judge import judge_recording
from tailwise.live.events import Connected, Finished, LiveEvent, Refused, WiringKept
from tailwise.live.run import Run
from tailwise.recording.reader import read_recording
from tests.live.fake_board import FakeBoard, FakeLink
from tests.live.helpers import LAYOUT, names, opener_of, refusal, settings

TURNED = Wiring({line: 12 - number for line, number in plain_wiring(LAYOUT).board_line.items()})


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path / "data"))


def told(path: Path, **more: object) -> list[LiveEvent]:
    return list(Run(settings(record=path, **more), opener_of(FakeLink(FakeBoard()))).events())


def board_id(tmp_path: Path) -> bytes:
    (who,) = [event for event in told(tmp_path / "who.twrec") if isinstance(event, Connected)]
    return who.identity.unique_id


def test_a_kept_wiring_is_used_and_stands_in_the_recording(tmp_path: Path) -> None:
    keep_wiring(board_id(tmp_path), LAYOUT.id, TURNED, "both tails reversed")
    path = tmp_path / "run.twrec"
    events = told(path)
    assert [event.how for event in events if isinstance(event, WiringKept)] == ["both tails reversed"]
    recording = read_recording(path)
    assert recording.header.wiring == TURNED.board_line
    assert recording.damage == ()
    last = events[-1]
    assert isinstance(last, Finished)
    assert last.data == to_bytes(judge_recording(recording))


def test_a_wiring_that_was_given_goes_first(tmp_path: Path) -> None:
    keep_wiring(board_id(tmp_path), LAYOUT.id, TURNED, "both tails reversed")
    path = tmp_path / "run.twrec"
    events = told(path, wiring=plain_wiring(LAYOUT))
    assert "WiringKept" not in names(events)
    assert read_recording(path).header.wiring == plain_wiring(LAYOUT).board_line


def test_another_board_and_the_practice_bench_are_plain(tmp_path: Path) -> None:
    keep_wiring(b"practice", "demo-7x6", TURNED, "both tails reversed")
    assert "WiringKept" not in names(told(tmp_path / "run.twrec"))
    events = list(Run(settings(url="practice:sound")).events())
    assert "WiringKept" not in names(events)


def test_a_damaged_file_ends_the_run_with_what_to_do(tmp_path: Path) -> None:
    path = keep_wiring(board_id(tmp_path), LAYOUT.id, TURNED, "both tails reversed")
    path.write_text("{}", encoding="utf-8")
    said: Refused = refusal(told(tmp_path / "run.twrec"))
    assert str(path) in said.reason
    assert "--forget" in said.next_step
