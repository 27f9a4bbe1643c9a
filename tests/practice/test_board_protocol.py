"""The virtual board keeps the rules of wire protocol 1."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import pytest

from tailwise.layoutfile.library import find_layout
from tailwise.model.fault import Fault, FaultKind
from tailwise.practice.bench import Bench, BenchLink, Setup
from tailwise.practice.boardkind import BoardKind
from tailwise.practice.operator import Press, Still
from tailwise.practice.planted import Planted
from tailwise.wire.frames import Frame, encode
from tailwise.wire.messages import (
    Ack,
    Booted,
    Capability,
    Heartbeat,
    Hello,
    Identity,
    LineCheck,
    LineStatus,
    Refusal,
    Refused,
    RunState,
    SetLines,
    SetScan,
    Start,
    State,
    Stop,
    Transitions,
)
from tests.practice.host import Host

DEMO = find_layout("demo-7x6")
LINES = 13
Open = Callable[..., Host]


def host(**changes: object) -> Host:
    values: dict[str, object] = {"layout": DEMO, "script": (Still(30),)} | changes
    return Host(BenchLink(Bench(Setup(**values))))  # type: ignore[arg-type]


def refusal(answer: object) -> tuple[int, int]:
    assert isinstance(answer, Refused), answer
    assert len(answer.reason) <= 60
    return answer.code, answer.detail


def test_booted_comes_first_with_number_nought_and_nothing_unasked_after_it() -> None:
    board = host()
    board.wait(3.0)
    assert [frame.number for _, frame in board.frames if isinstance(frame, Frame)] == [0]
    assert isinstance(board.messages()[0], Booted)


def test_identity_says_what_the_board_can_do() -> None:
    identity = host().hello()
    assert (identity.protocol_min, identity.protocol_max, identity.clock_tick_ns) == (1, 1, 1000)
    assert identity.capabilities == Capability.LINE_CHECK | Capability.WATCH_LINE
    assert identity.line_count == 24
    assert identity.checked_lines == b"\xff\xff\x00"
    assert identity.max_command_bytes >= 64


def test_unknown_messages_are_refused_and_the_board_goes_on() -> None:
    board = host()
    board.hello()
    for kind in (0x00, 0x07, 0x7F, 0x80, 0x85, 0xFF):
        answer = board.ask_raw(kind, b"\1\2\3")
        assert refusal(answer)[0] == Refusal.UNKNOWN_MESSAGE
        assert isinstance(answer, Refused) and answer.command_type == kind
    assert isinstance(board.ask(Stop()), Ack)


def test_messages_of_capabilities_it_lacks_are_refused() -> None:
    board = host()
    board.hello()
    for kind in (0x28, 0x30):
        answer = board.ask_raw(kind, b"\1\2\3")
        assert refusal(answer)[0] in (Refusal.UNKNOWN_MESSAGE, Refusal.UNSUPPORTED)


@pytest.mark.parametrize(
    ("kind", "payload"),
    [
        (1, b"\1"),
        (1, b"\1\1\1"),
        (2, b""),
        (2, b"\5\3"),
        (3, bytes(7)),
        (3, (20_001).to_bytes(4, "little") + bytes(4)),
        (3, bytes(4) + b"\xff\xff\xff\xff"),
        (4, b""),
        (4, b"\x63"),
        (5, b"\0"),
        (6, b"\0"),
    ],
)
def test_wrong_payloads_are_refused(kind: int, payload: bytes) -> None:
    board = host()
    board.configure(LINES)
    assert refusal(board.ask_raw(kind, payload))[0] == Refusal.BAD_PAYLOAD


def test_no_common_version_is_refused_and_changes_nothing() -> None:
    board = host()
    board.wait(0.4)
    for low, high in ((0, 0), (2, 9), (2, 1)):
        assert refusal(board.ask(Hello(low, high)))[0] == Refusal.NO_PROTOCOL
    board.wait(2.0)
    assert not any(isinstance(message, Heartbeat) for message in board.messages())


def test_lines_and_roles_it_does_not_have() -> None:
    board = host()
    board.hello()
    assert refusal(board.ask(SetLines(bytes(24) + b"\3"))) == (Refusal.BAD_LINE, 24)
    assert refusal(board.ask(SetLines(b"\3\3\4"))) == (Refusal.BAD_LINE, 2)
    assert isinstance(board.ask(SetLines(bytes([3] * 24) + bytes(16))), Ack)


@pytest.mark.parametrize("roles", [b"", b"\0\0", b"\1\1", b"\2\2", b"\3"])
def test_start_without_a_line_to_drive_and_another_to_sense(roles: bytes) -> None:
    board = host()
    board.hello()
    assert refusal(board.ask(Start(0)))[0] == Refusal.NOT_CONFIGURED
    board.ask(SetLines(roles))
    assert refusal(board.ask(Start(0)))[0] == Refusal.NOT_CONFIGURED
    board.ask(SetScan(0, 0))
    assert refusal(board.ask(Start(0)))[0] == Refusal.NOT_CONFIGURED
    assert not any(isinstance(message, LineCheck) for message in board.messages())


def test_a_run_begins_with_line_check_ack_and_state_and_refuses_settings() -> None:
    board = host()
    board.configure(LINES)
    before = len(board.messages())
    assert isinstance(board.ask(Start(0)), Ack)
    board.wait(0.01)
    check, ack, state = board.messages()[before : before + 3]
    assert isinstance(check, LineCheck) and isinstance(ack, Ack) and isinstance(state, State)
    assert check.statuses == bytes([LineStatus.CLEAR] * 13 + [LineStatus.NOT_USED] * 11)
    assert len(state.closed) == 13 * 3
    for command in (SetLines(b"\3\3"), SetScan(0, 0), Start(0)):
        assert refusal(board.ask(command))[0] == Refusal.RUNNING
    assert isinstance(board.hello(), Identity)


def test_state_and_heartbeat_keep_their_times_and_every_frame_is_numbered() -> None:
    board = host(script=(Press(("Q", "W")), Still(5)))
    board.start(LINES)
    begin = board.link.now_us()
    board.stay()
    numbers = [frame.number for _, frame in board.frames if isinstance(frame, Frame)]
    assert numbers == list(range(len(numbers)))
    states = [at for at, frame in board.frames if isinstance(frame, Frame) and frame.type == State.TYPE]
    assert max(b - a for a, b in itertools.pairwise(states)) <= 50_000
    beats = [at for at, frame in board.frames if isinstance(frame, Frame) and frame.type == Heartbeat.TYPE and at > begin]
    assert max(b - a for a, b in itertools.pairwise(beats)) <= 600_000
    for at, frame in board.frames:
        message = frame.message() if isinstance(frame, Frame) else None
        if isinstance(message, Transitions):
            assert at - (message.clock + 250_000) <= 4_000, "a transition left late"
            assert message.entries


def test_state_equals_the_state_before_with_the_transitions_between() -> None:
    board = host(script=(Press(rounds=1),))
    board.start(LINES)
    board.stay()
    rows = dict.fromkeys(range(LINES), 0)
    last = -1
    states = 0
    for message in board.messages():
        if isinstance(message, Transitions):
            for entry in message.entries:
                bit = 1 << entry.sensed
                assert bool(rows[entry.driven] & bit) != entry.closed
                rows[entry.driven] ^= bit
                assert message.clock + entry.delta > last
        elif isinstance(message, State):
            assert message.closed == b"".join(rows[line].to_bytes(3, "little") for line in range(LINES))
            assert message.clock > last
            last = message.clock
            states += 1
    assert states > 400


def test_silence_of_the_host_leads_to_the_safe_state() -> None:
    board = host()
    board.start(LINES)
    begin = board.link.now_us()
    board.wait(4.0)
    states = [at for at, frame in board.frames if isinstance(frame, Frame) and frame.type == State.TYPE]
    assert 1_950_000 <= max(states) - begin <= 2_200_000
    beats = [message for message in board.messages() if isinstance(message, Heartbeat)]
    assert beats[-1].state == RunState.HOST_SILENT
    assert isinstance(board.ask(Start(0)), Ack), "the settings are kept"
    board.wait(0.6)
    assert [message for message in board.messages() if isinstance(message, Heartbeat)][-1].state == RunState.SCANNING


def test_stop_ends_the_run_before_its_ack() -> None:
    board = host()
    board.start(LINES)
    board.wait(0.1)
    assert isinstance(board.ask(Stop()), Ack)
    seen = len(board.messages())
    board.wait(1.0)
    later = board.messages()[seen:]
    assert later and all(isinstance(message, Heartbeat) and message.state == RunState.IDLE for message in later)


def test_bad_frames_are_counted_and_not_answered() -> None:
    board = host()
    board.hello()
    good = bytearray(encode(Stop(), 7))
    good[2] ^= 0x40
    board.send(bytes(good) + b"\0\0" + bytes(range(1, 200)) + b"\0")
    board.wait(0.7)
    beats = [message for message in board.messages() if isinstance(message, Heartbeat)]
    assert beats[-1].bad_frames == 2
    assert not any(isinstance(message, Ack | Refused) for message in board.messages())


def test_a_held_line_refuses_the_drive() -> None:
    volts = Planted(Fault(FaultKind.FOREIGN_VOLTAGE, ("C2",)), 1000.0, volts=5.0)
    ground = Planted(Fault(FaultKind.FOREIGN_VOLTAGE, ("R4",)), 1000.0, volts=0.0)
    board = host(planted=(volts, ground))
    answer = board.start(LINES)
    assert refusal(answer) == (Refusal.HELD_LINE, 3)
    check = next(message for message in board.messages() if isinstance(message, LineCheck))
    assert (check.statuses[3], check.statuses[8]) == (LineStatus.HELD_LOW, LineStatus.HELD_HIGH)
    assert set(check.statuses[:13]) == {LineStatus.HELD_LOW, LineStatus.HELD_HIGH, LineStatus.CLEAR}
    board.wait(0.6)
    assert [message for message in board.messages() if isinstance(message, Heartbeat)][-1].state == RunState.REFUSED_DRIVE
    assert not any(isinstance(message, State) for message in board.messages())


def test_lines_without_converter_are_not_checked() -> None:
    board = host(board=BoardKind(checked=4))
    board.start(LINES)
    check = next(message for message in board.messages() if isinstance(message, LineCheck))
    assert check.statuses[3:5] == bytes([LineStatus.CLEAR, LineStatus.NOT_CHECKED])


def test_the_clock_wraps_in_the_middle_of_a_run() -> None:
    board = host(board=BoardKind(clock_start=2**32 - 3_000_000), script=(Press(), Still(1)))
    board.start(LINES)
    board.stay()
    clocks = [message.clock for message in board.messages() if isinstance(message, State)]
    assert min(clocks) < 10_000_000 < max(clocks)
    steps = {(b - a) % 2**32 for a, b in itertools.pairwise(clocks)}
    assert max(steps) <= 50_000
    assert len(board.closed_pairs()) == 84


def test_commands_sent_while_it_boots_are_lost() -> None:
    board = host()
    board.send(encode(Hello(1, 1), 0))
    board.wait(1.0)
    assert [type(message) for message in board.messages()] == [Booted]
