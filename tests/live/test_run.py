"""A run as faces see it: marks, changes, recordings, the same bytes live and judged later."""

from __future__ import annotations

import threading
from itertools import pairwise
from pathlib import Path

import pytest

from tailwise.judge.document import to_bytes
from tailwise.judge.judge import judge_recording
from tailwise.link.base import LinkRefused
from tailwise.live.events import Finished, MarkMade, Progress, Started
from tailwise.live.run import Run
from tailwise.model.mark import Deed, Mark
from tailwise.recording.format import Changed, Ended, Marked
from tailwise.recording.reader import read_recording
from tests.live.fake_board import FakeBoard, FakeLink
from tests.live.helpers import names, opener_of, run_events, settings


def test_live_findings_are_the_bytes_of_judging_the_recording(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    run = Run(settings(record=path, label="bench 3"), opener_of(FakeLink(FakeBoard())))
    events = list(run.events())
    last = events[-1]
    assert isinstance(last, Finished) and last.recording == path
    assert last.data == to_bytes(judge_recording(read_recording(path)))
    assert run.document() == last.document and last.document["label"] == "bench 3"


def test_the_recording_is_whole_and_ends_with_the_counters(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    run_events(FakeBoard(), record=path)
    recording = read_recording(path)
    assert recording.ended and recording.damage == ()
    last = recording.records[-1]
    assert isinstance(last, Ended) and last.counters["frames"] > 100


def test_marks_are_dated_by_the_board_s_clock(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    link = FakeLink(FakeBoard())
    run = Run(settings(record=path), opener_of(link))
    for event in run.events():
        if isinstance(event, Started):
            link.at(link.now_us() + 1_234_000, lambda: run.add_mark(Deed.PRESS, key="Q"))
            run.add_mark(Deed.NOTE, text="before", at_us=5)
    marks = [record.mark for record in read_recording(path).records if isinstance(record, Marked)]
    assert marks[0] == Mark(5, Deed.NOTE, text="before")
    assert marks[1].key == "Q" and 1_230_000 <= marks[1].at_us <= 1_240_000


def test_label_and_statement_may_come_later(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    run = Run(settings(record=path), opener_of(FakeLink(FakeBoard())))
    for event in run.events():
        if isinstance(event, Started):
            run.set_label("later")
            run.state_every_key_pressed()
    changes = [record for record in read_recording(path).records if isinstance(record, Changed)]
    assert [(change.label, change.every_key_pressed) for change in changes] == [("later", None), (None, True)]
    assert run.document()["label"] == "later"


def test_marks_of_a_file_come_when_their_time_comes_and_none_is_lost() -> None:
    marks = (Mark(500_000, Deed.PRESS, key="Q"), Mark(9_000_000, Deed.STILL))
    events = run_events(FakeBoard(), marks=marks)
    assert [event.mark for event in events if isinstance(event, MarkMade)] == list(marks)


def test_progress_is_bounded() -> None:
    events = run_events(FakeBoard(), progress_hz=10.0, seconds=2.0)
    progress = [event for event in events if isinstance(event, Progress)]
    assert 15 <= len(progress) <= 21
    assert all(later.run_us > earlier.run_us for earlier, later in pairwise(progress))


def test_stop_from_another_thread_ends_the_run() -> None:
    link = FakeLink(FakeBoard())
    run = Run(settings(seconds=None), opener_of(link))
    seen = []
    for event in run.events():
        seen.append(event)
        if isinstance(event, Started):
            thread = threading.Thread(target=run.stop)
            thread.start()
            thread.join()
    assert names(seen)[-1] == "Finished"


def test_stop_before_the_board_answers() -> None:
    board = FakeBoard()
    board.mute = True
    link = FakeLink(board)
    run = Run(settings(), opener_of(link))
    link.at(700_000, run.stop)
    assert names(list(run.events())) == ["Connecting", "Finished"]


def test_stop_while_the_link_is_down() -> None:
    link = FakeLink(FakeBoard())
    run = Run(settings(seconds=None, regain_s=None), opener_of(link))
    link.at(500_000, link.unplug)
    link.at(4_000_000, run.stop)
    assert names(list(run.events()))[-2:] == ["LinkDown", "Finished"]


def test_a_recording_is_never_overwritten_and_nothing_is_opened(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    path.write_text("precious")

    def opener(url: str, *, realtime: bool = False) -> FakeLink:
        raise AssertionError("opened")

    with pytest.raises(FileExistsError):
        list(Run(settings(record=path), opener).events())
    assert path.read_text() == "precious"


def test_a_folder_gets_a_file_of_its_own_for_each_run(tmp_path: Path) -> None:
    for _ in range(2):
        run_events(FakeBoard(), record=tmp_path, seconds=0.1)
    assert len(list(tmp_path.glob("*demo-7x6*"))) == 2


def test_a_refused_port_is_an_event_and_a_document_but_no_recording(tmp_path: Path) -> None:
    def opener(url: str, *, realtime: bool = False) -> FakeLink:
        raise LinkRefused("no port", "unplugged", "plug it in")

    path = tmp_path / "run.twrec"
    events = list(Run(settings(record=path), opener).events())
    assert names(events) == ["Refused", "Finished"]
    last = events[-1]
    assert isinstance(last, Finished) and last.document["verdict"] == "untestable"
    assert not path.exists()
