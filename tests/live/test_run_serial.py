"""The whole path over a real serial port class and a pseudo-terminal."""

from __future__ import annotations

from pathlib import Path

from tailwise.judge.document import to_bytes
from tailwise.judge.judge import judge_recording
from tailwise.live.events import Finished, LinkDown, Started
from tailwise.live.run import Run
from tailwise.recording.format import Received
from tailwise.recording.reader import read_recording
from tests.live.fake_board import FakeBoard
from tests.live.helpers import link_records, names, refusal, settings
from tests.live.pty_board import PtyBoard, TcpBoard


def test_a_run_on_a_pseudo_terminal_with_garbage_first(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    with PtyBoard(FakeBoard(garbage=b"\x80\x00\xff", boot_us=200_000)) as board:
        events = list(Run(settings(url=board.path, seconds=0.3, record=path)).events())
    assert names(events) == ["Connecting", "Connected", "LinesChecked", "Started", "Finished"]
    last = events[-1]
    assert isinstance(last, Finished)
    assert last.data == to_bytes(judge_recording(read_recording(path)))


def test_unplugging_keeps_everything_and_is_one_clean_event(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    with PtyBoard(FakeBoard()) as board:
        events = []
        for event in Run(settings(url=board.path, seconds=None, record=path, regain_s=0.5)).events():
            events.append(event)
            if isinstance(event, Started):
                board.unplug()
    assert names(events)[-4:] == ["Started", "LinkDown", "Refused", "Finished"]
    recording = read_recording(path)
    assert recording.ended and recording.damage == ()
    assert names(events).count("LinkDown") == 1
    last = events[-1]
    assert isinstance(last, Finished) and last.document["verdict"] == "untestable"


def test_reconnecting_marks_a_gap_and_the_run_goes_on(tmp_path: Path) -> None:
    path, port = tmp_path / "run.twrec", tmp_path / "port"
    boards = [PtyBoard(FakeBoard()), PtyBoard(FakeBoard(boot_us=100_000))]
    port.symlink_to(boards[0].path)
    run = Run(settings(url=str(port), seconds=None, record=path))
    events = []
    for event in run.events():
        events.append(event)
        if isinstance(event, Started) and not event.again:
            boards[0].unplug()
        elif isinstance(event, LinkDown):
            port.unlink()
            port.symlink_to(boards[1].path)
        elif isinstance(event, Started):
            run.stop()
    boards[1].unplug()
    assert names(events).count("Started") == 2 and names(events)[-1] == "Finished"
    assert [event.value for event in link_records(path)] == ["lost", "reopened"]


def test_an_absent_port_is_refused_with_what_to_do() -> None:
    events = list(Run(settings(url="/dev/no-such-port")).events())
    assert names(events) == ["Refused", "Finished"]
    assert "tailwise ports" in refusal(events).next_step


def test_a_board_behind_a_socket_that_hangs_up_once(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    with TcpBoard(FakeBoard(boot_us=50_000)) as board:
        run = Run(settings(url=board.url, seconds=None, record=path))
        events = []
        for event in run.events():
            events.append(event)
            if isinstance(event, Started) and not event.again:
                board.hang_up()
            elif isinstance(event, Started):
                run.stop()
    assert names(events).count("Started") == 2 and names(events).count("LinkDown") == 1
    assert [event.value for event in link_records(path)] == ["lost", "reopened"]


def test_a_socket_s_bytes_are_recorded_in_chunks_and_not_one_by_one(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    with TcpBoard(FakeBoard()) as board:
        list(Run(settings(url=board.url, seconds=0.3, record=path)).events())
    sizes = [len(record.data) for record in read_recording(path).records if isinstance(record, Received)]
    assert sum(sizes) / len(sizes) > 10
