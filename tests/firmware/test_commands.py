"""Every command is answered or refused, whatever it is, and the board never hangs."""

from __future__ import annotations

import random
from collections.abc import Iterator

import pytest

from tailwise.wire.messages import (
    Ack,
    Alive,
    Booted,
    Heartbeat,
    Hello,
    Identity,
    LineRole,
    Refusal,
    Refused,
    ResetCause,
    RunState,
    SetLines,
    SetScan,
    SetWatch,
    Start,
    State,
    Stop,
    Transitions,
)
from tests.simboard.board import SimBoard
from tests.simboard.talk import Talk, both


@pytest.fixture
def talk() -> Iterator[Talk]:
    with SimBoard() as board:
        board.run(6000)
        yield Talk(board)


def refusal(message: object) -> tuple[int, int]:
    assert isinstance(message, Refused), message
    assert message.reason and message.reason.isascii()
    return message.code, message.detail


def test_booted_comes_first_with_the_cause(talk: Talk) -> None:
    (first,) = talk.heard()
    assert first[1].number == 0
    assert first[1].message() == Booted(ResetCause.POWER)


def test_a_reset_line_is_told_from_power(talk: Talk) -> None:
    talk.start(both(4))
    talk.board.reset(talk.board.now_us() + 1000)
    messages = talk.messages(20_000)
    assert Booted(ResetCause.EXTERNAL) in messages
    assert talk.messages(50_000) == []


def test_identity(talk: Talk) -> None:
    identity = talk.ask(Hello(1, 9))
    assert isinstance(identity, Identity)
    assert (identity.line_count, identity.checked_lines, identity.clock_tick_ns) == (24, b"\xff\xff\x00", 1000)


@pytest.mark.parametrize("offer", [(2, 9), (0, 0)])
def test_no_common_protocol(talk: Talk, offer: tuple[int, int]) -> None:
    assert refusal(talk.ask(Hello(*offer))) == (Refusal.NO_PROTOCOL, 255)


@pytest.mark.parametrize("kind", [0x00, 0x07, 0x21, 0x37, 0x7F, 0x80, 0x85, 0xFF])
def test_unknown_types_are_refused(talk: Talk, kind: int) -> None:
    assert refusal(talk.answer_to(kind, b"whatever")) == (Refusal.UNKNOWN_MESSAGE, kind)


@pytest.mark.parametrize(
    ("kind", "payload"),
    [
        (Hello.TYPE, b"\x01"),
        (Hello.TYPE, b"\x02\x01"),
        (SetLines.TYPE, b""),
        (SetLines.TYPE, b"\x03\x03\x03"),
        (SetLines.TYPE, b"\x01\x03\x03"),
        (SetScan.TYPE, bytes(7)),
        (SetScan.TYPE, bytes(9)),
        (SetScan.TYPE, SetScan(20_001, 0).payload()),
        (SetScan.TYPE, SetScan(0, 20_001).payload()),
        (SetScan.TYPE, SetScan(0, 0xFFFFFFFF).payload()),
        (Start.TYPE, b""),
        (Start.TYPE, b"\x02"),
        (SetWatch.TYPE, b""),
        (SetWatch.TYPE, SetWatch(2, b"\x00\x01").payload()),
        (SetWatch.TYPE, SetWatch(1, b"").payload()),
        (SetWatch.TYPE, SetWatch(1, b"\x00\x01\x02").payload()),
        (SetWatch.TYPE, SetWatch(1, bytes(6)).payload()),
        (SetWatch.TYPE, SetWatch(1, b"\x00\x01").payload() + b"\x00"),
        (Stop.TYPE, b"\x00"),
        (Alive.TYPE, bytes(58)),
    ],
)
def test_bad_payloads_are_refused(talk: Talk, kind: int, payload: bytes) -> None:
    assert refusal(talk.answer_to(kind, payload)) == (Refusal.BAD_PAYLOAD, 255)
    assert isinstance(talk.ask(Alive()), Ack)


def test_lines_and_roles_the_board_lacks(talk: Talk) -> None:
    assert refusal(talk.ask(SetLines(both(25)))) == (Refusal.BAD_LINE, 24)
    assert refusal(talk.ask(SetLines(bytes([3, 3, 4])))) == (Refusal.BAD_LINE, 2)
    assert isinstance(talk.ask(SetLines(both(24) + bytes(16))), Ack)


def test_start_needs_both_settings_and_something_to_scan(talk: Talk) -> None:
    assert refusal(talk.ask(Start(0)))[0] == Refusal.NOT_CONFIGURED
    assert isinstance(talk.ask(SetLines(both(4))), Ack)
    assert refusal(talk.ask(Start(0)))[0] == Refusal.NOT_CONFIGURED
    assert isinstance(talk.ask(SetScan(0, 0)), Ack)
    for roles in (b"", both(1), bytes([LineRole.DRIVEN] * 3), bytes([LineRole.SENSED] * 3)):
        assert isinstance(talk.ask(SetLines(roles)), Ack)
        assert refusal(talk.ask(Start(0)))[0] == Refusal.NOT_CONFIGURED
    assert isinstance(talk.ask(SetLines(bytes([LineRole.DRIVEN, LineRole.SENSED]))), Ack)
    assert isinstance(talk.ask(Start(0)), Ack)


def test_settings_are_refused_while_scanning(talk: Talk) -> None:
    talk.start(both(4))
    for command in (SetLines(both(5)), SetScan(0, 0), Start(0)):
        assert refusal(talk.ask(command)) == (Refusal.RUNNING, 255)
    assert isinstance(talk.ask(Stop()), Ack)
    quiet = talk.messages(60_000)
    assert not [message for message in quiet if isinstance(message, State | Transitions)]


def test_silence_of_the_host_ends_the_run(talk: Talk) -> None:
    talk.start(both(3), period_us=5000)
    talk.heard()
    began = talk.board.now_us()
    last_state = max(at for at, frame in talk.heard(2_700_000) if frame.type == State.TYPE)
    assert 1_970_000 <= last_state - began <= 2_010_000
    talk.board.measure()
    beats = [message for message in talk.messages(600_000) if isinstance(message, Heartbeat)]
    assert [beat.state for beat in beats] == [RunState.HOST_SILENT]
    assert talk.board.measure().low_pulses == 0
    assert isinstance(talk.ask(Start(0)), Ack)


def test_bad_frames_are_counted_and_keep_nothing_alive(talk: Talk) -> None:
    talk.ask(Hello(1, 1))
    talk.board.write(b"\x05\x01\x02\x03\x04\x00" * 3)
    beats = [message for message in talk.messages(600_000) if isinstance(message, Heartbeat)]
    assert [beat.bad_frames for beat in beats] == [3]


def test_random_bytes_never_hang_the_board(talk: Talk) -> None:
    chance = random.Random(20)
    talk.start(both(6))
    for _ in range(20):
        talk.board.write(bytes(chance.choice([0, 1, 2, 6, chance.randrange(256)]) for _ in range(40)) + b"\0")
        assert isinstance(talk.ask(Alive()), Ack)
