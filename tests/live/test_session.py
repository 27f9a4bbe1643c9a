"""The host's side of the protocol against a board that does all kinds of things, in virtual time."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tailwise.judge.judge import fed_judge
from tailwise.live.events import BoardRestarted, Connected, Finished, LinesChecked, LinkDown
from tailwise.live.run import Run
from tailwise.recording.format import LinkEvent
from tailwise.recording.reader import read_recording
from tailwise.wire.frames import Frame
from tailwise.wire.messages import (
    Alive,
    Heartbeat,
    Hello,
    Refusal,
    Report,
    ResetCause,
    RunState,
    SetLines,
    SetScan,
    Start,
    Stop,
)
from tests.live.fake_board import FakeBoard, FakeLink
from tests.live.helpers import LAYOUT, link_records, names, opener_of, refusal, run_events, settings, starts


def document_of(events: list[object]) -> dict[str, object]:
    last = events[-1]
    assert isinstance(last, Finished)
    return last.document


def test_the_order_of_a_run() -> None:
    board = FakeBoard()
    events = run_events(board)
    assert names(events) == ["Connecting", "Connected", "LinesChecked", "Started", "Finished"]
    said = [type(message) for message in board.heard]
    assert said[:5] == [Hello, Stop, SetLines, SetScan, Start]
    assert set(said[5:-1]) == {Alive} and said[-1] is Stop
    assert board.state is RunState.IDLE
    lines = next(message for message in board.heard if isinstance(message, SetLines))
    assert lines.roles == bytes([3] * len(LAYOUT.lines))


def test_alive_goes_out_every_half_second() -> None:
    board = FakeBoard()
    run_events(board, seconds=10.0)
    alive = sum(isinstance(message, Alive) for message in board.heard)
    assert 18 <= alive <= 20


def test_alive_without_an_answer_is_repeated_sooner_but_never_floods() -> None:
    board = FakeBoard()
    board.deaf_to[Alive] = 1000
    run_events(board, seconds=10.0)
    alive = sum(isinstance(message, Alive) for message in board.heard)
    assert 25 <= alive <= 31


def test_garbage_first_and_a_boot_loader_of_two_and_a_half_seconds() -> None:
    board = FakeBoard(boot_us=2_500_000, garbage=b"\x55\xaa\x00boot\x00\xff\xfe")
    events = run_events(board)
    assert names(events) == ["Connecting", "Connected", "LinesChecked", "Started", "Finished"]


def test_the_garbage_before_the_board_is_recorded(tmp_path: Path) -> None:
    garbage = b"\x55\xaa\x00boot"
    path = tmp_path / "run.twrec"
    run_events(FakeBoard(garbage=garbage), record=path)
    assert garbage.hex() in path.read_text()


def test_a_silent_board_is_given_five_seconds_and_then_named() -> None:
    board = FakeBoard()
    board.mute = True
    events = run_events(board)
    assert names(events) == ["Connecting", "Refused", "Finished"]
    assert "no answer" in refusal(events).reason
    assert sum(isinstance(message, Hello) for message in board.heard) in (9, 10)
    assert document_of(list(events))["verdict"] == "untestable"


def test_bytes_that_are_no_frames_are_another_firmware() -> None:
    board = FakeBoard(garbage=b"hello, world\r\n" * 3)
    board.mute = True
    assert "no frame of wire protocol 1" in refusal(run_events(board)).reason


@pytest.mark.parametrize(
    ("protocol", "side"),
    [((0, 0), "firmware is out of date"), ((2, 3), "this tailwise is out of date")],
)
def test_a_wrong_protocol_names_the_side_that_is_out_of_date(protocol: tuple[int, int], side: str) -> None:
    events = run_events(FakeBoard(protocol=protocol))
    assert side in refusal(events).likely
    assert document_of(list(events))["verdict"] == "untestable"


def test_a_board_that_answers_hello_with_another_range_is_refused_too() -> None:
    board = FakeBoard(protocol=(2, 9))
    board.protocol = (2, 9)
    assert "2 to 9" in refusal(run_events(board)).reason


def test_a_board_with_too_few_lines_is_refused_with_both_numbers() -> None:
    said = refusal(run_events(FakeBoard(lines=8)))
    assert "13 lines" in said.reason and "has 8" in said.reason
    assert said.next_step


def test_a_clock_that_protocol_1_does_not_allow() -> None:
    assert "4000 ns" in refusal(run_events(FakeBoard(tick_ns=4000))).reason


def test_a_refused_command_carries_the_board_s_reason() -> None:
    board = FakeBoard()
    board.refuse[SetLines] = Refusal.BAD_LINE
    said = refusal(run_events(board))
    assert "SET_LINES" in said.reason and "because" in said.reason


def test_an_unknown_refusal_code_is_no_crash() -> None:
    board = FakeBoard()
    board.refuse[SetScan] = 77
    assert "77" in refusal(run_events(board)).reason


def test_held_lines_are_named_by_the_layout() -> None:
    statuses = bytearray([1] * 24)
    statuses[LAYOUT.harness_order.index("C2")] = 2
    events = run_events(FakeBoard(statuses=bytes(statuses)))
    (checked,) = [event for event in events if isinstance(event, LinesChecked)]
    assert checked.held_lines == ("C2",)
    assert "C2" in refusal(events).reason
    assert document_of(list(events))["verdict"] == "untestable"


@pytest.mark.parametrize("command", [Stop, SetLines, SetScan, Start])
def test_a_lost_command_is_sent_again(command: type) -> None:
    board = FakeBoard()
    board.deaf_to[command] = 2
    assert names(run_events(board))[-2:] == ["Started", "Finished"]


def test_a_command_never_answered_ends_in_the_handshake_again_and_then_in_a_reason() -> None:
    board = FakeBoard()
    board.deaf_to[SetLines] = 10_000
    events = run_events(board, regain_s=4.0)
    assert "SET_LINES" in refusal(events).reason


def test_a_board_left_running_by_an_earlier_host_is_stopped_first() -> None:
    board = FakeBoard()

    def running(link: FakeLink) -> None:
        board.poll(0)
        board.state, board._driven = RunState.SCANNING, 3

    assert names(run_events(board, running))[-2:] == ["Started", "Finished"]


def test_a_restart_is_recorded_and_the_run_goes_on(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    events = run_events(FakeBoard(boot_us=200_000), lambda link: link.at(1_500_000, link.reset), record=path)
    assert names(events).count("Started") == 2 and "BoardRestarted" in names(events)
    (restarted,) = [event for event in events if isinstance(event, BoardRestarted)]
    assert "watchdog" in restarted.why
    assert link_records(path) == [LinkEvent.RESTARTED]
    assert 1_000_000 < starts(events)[1].run_us < 2_500_000


def test_a_board_that_stopped_by_itself_is_started_again(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    board = FakeBoard()

    def stop_itself() -> None:
        board.state = RunState.HOST_SILENT
        board.say(Heartbeat(1_000_000, RunState.HOST_SILENT, 0, 0, 0, 0, 0, 0))

    events = run_events(board, lambda link: link.at(1_000_000, stop_itself), record=path)
    assert len(starts(events)) == 2
    assert link_records(path) == [LinkEvent.RESTARTED]


def test_a_board_that_restarts_at_every_start_is_given_up() -> None:
    class Weak(FakeBoard):
        def _start(self, frame: Frame, now: int) -> None:
            super()._start(frame, now)
            said = bytes(self._out)
            self.power_up(now, ResetCause.BROWN_OUT)
            self._out[:0] = said

    said = refusal(run_events(Weak()))
    assert "5 times" in said.reason and "supply" in said.likely


def test_silence_is_a_lost_link_and_the_run_goes_on(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    board = FakeBoard()

    def plan(link: FakeLink) -> None:
        link.at(1_000_000, lambda: setattr(board, "mute", True))
        link.at(3_500_000, lambda: setattr(board, "mute", False))

    events = run_events(board, plan, record=path, seconds=6.0)
    assert names(events) == [
        "Connecting", "Connected", "LinesChecked", "Started", "LinkDown", "Connected", "LinesChecked", "Started", "Finished",
    ]  # fmt: skip
    assert link_records(path) == [LinkEvent.LOST, LinkEvent.REOPENED]


def test_unplugging_gives_one_clean_event_and_plugging_in_goes_on(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"

    def plan(link: FakeLink) -> None:
        link.at(1_000_000, link.unplug)
        link.at(2_000_000, link.plug)

    events = run_events(FakeBoard(boot_us=300_000), plan, record=path, seconds=5.0)
    assert names(events).count("LinkDown") == 1 and names(events).count("LinkUp") == 1
    assert link_records(path) == [LinkEvent.LOST, LinkEvent.REOPENED]
    assert starts(events)[1].again and 1_900_000 < starts(events)[1].run_us < 3_000_000


def test_a_link_that_stays_away_ends_the_run_untestable(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    events = run_events(FakeBoard(), lambda link: link.at(1_000_000, link.unplug), record=path, regain_s=3.0, seconds=None)
    assert "did not come back" in refusal(events).reason
    assert document_of(list(events))["verdict"] == "untestable"
    assert link_records(path) == [LinkEvent.LOST]


@pytest.mark.parametrize("at_ms", range(0, 1200, 37))
def test_unplugging_at_any_moment_is_one_link_down(at_ms: int) -> None:
    def plan(link: FakeLink) -> None:
        link.at(at_ms * 1000, link.unplug)
        link.at(at_ms * 1000 + 900_000, link.plug)

    events = run_events(FakeBoard(boot_us=100_000), plan)
    downs = [event for event in events if isinstance(event, LinkDown)]
    assert len(downs) == 1
    assert names(events)[-2:] == ["Started", "Finished"]


def test_another_board_after_a_lost_link_is_not_taken_for_the_same() -> None:
    board = FakeBoard()

    def exchange() -> None:
        board.unique_id = b"\x02"

    def plan(link: FakeLink) -> None:
        link.at(1_000_000, link.unplug)
        link.at(1_200_000, exchange)
        link.at(1_300_000, link.plug)

    assert "another board" in refusal(run_events(board, plan)).reason


def test_the_host_hearing_itself_is_told_so() -> None:
    class Echo(FakeBoard):
        def receive(self, data: bytes, now: int) -> None:
            self._out += data

    assert "sends back" in refusal(run_events(Echo())).reason


def test_identities_are_handed_on() -> None:
    (connected,) = [event for event in run_events(FakeBoard()) if isinstance(event, Connected)]
    assert connected.identity.board == "fake"


@pytest.mark.parametrize("stop_ms", range(300, 1300, 41))
def test_never_more_than_one_command_is_unanswered(stop_ms: int) -> None:
    class Slow(FakeBoard):
        """Answers each command 120 ms late, and fails where a second one comes before."""

        def __init__(self) -> None:
            super().__init__()
            self.waiting: list[tuple[int, Frame]] = []

        def _command(self, frame: Frame, now: int) -> None:
            assert not self.waiting
            self.waiting.append((now + 120_000, frame))

        def poll(self, now: int) -> bytes:
            while self.waiting and self.waiting[0][0] <= now:
                super()._command(self.waiting.pop(0)[1], now)
            return super().poll(now)

    link = FakeLink(Slow())
    run = Run(settings(seconds=None), opener_of(link))
    link.at(stop_ms * 1000, run.stop)
    assert names(list(run.events()))[-1] == "Finished"


def test_a_board_that_checks_no_lines_runs_all_the_same() -> None:
    assert names(run_events(FakeBoard(line_check=False))) == ["Connecting", "Connected", "Started", "Finished"]


def test_the_largest_board() -> None:
    assert names(run_events(FakeBoard(lines=40)))[-2:] == ["Started", "Finished"]


def test_a_clock_that_wraps_in_the_run_changes_nothing(tmp_path: Path) -> None:
    class Wrapping(FakeBoard):
        """A board whose clock is 1 s before its wrap when the link opens."""

        OFFSET = (1 << 32) - 1_000_000

        def say(self, report: Report) -> None:
            clock = getattr(report, "clock", None)
            super().say(report if clock is None else replace(report, clock=(clock + self.OFFSET) & 0xFFFFFFFF))

    path = tmp_path / "run.twrec"
    events = run_events(Wrapping(), record=path, seconds=3.0)
    assert names(events) == ["Connecting", "Connected", "LinesChecked", "Started", "Finished"]
    assert 2_950_000 < fed_judge(read_recording(path)).observations().end_us < 3_100_000
