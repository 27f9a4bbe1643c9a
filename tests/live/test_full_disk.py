"""A recording that takes no more ends the run with a reason, and what was stored is judged."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from tailwise.judge.document import to_bytes
from tailwise.judge.judge import judge_recording
from tailwise.live.events import Finished
from tailwise.recording.format import Record
from tailwise.recording.reader import read_recording
from tailwise.recording.writer import RecordingWriter
from tests.live.fake_board import FakeBoard
from tests.live.helpers import names, refusal, run_events


@pytest.mark.parametrize("room", [0, 1, 5, 12, 40])
def test_a_full_disk_is_one_refusal_and_the_board_is_stopped(
    room: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written = 0
    write = RecordingWriter.write

    def limited(self: RecordingWriter, record: Record) -> None:
        nonlocal written
        if written >= room:
            raise OSError(errno.ENOSPC, "No space left on device")
        written += 1
        write(self, record)

    monkeypatch.setattr(RecordingWriter, "write", limited)
    board = FakeBoard()
    path = tmp_path / "run.twrec"
    events = run_events(board, record=path)
    assert "No space left" in refusal(events).reason
    last = events[-1]
    assert names(events)[-1] == "Finished" and isinstance(last, Finished)
    assert last.data == to_bytes(judge_recording(read_recording(path)))
    assert len(read_recording(path).records) == room
    assert board.state.name == "IDLE"
