"""A line held from outside refuses the drive before anything is driven."""

from __future__ import annotations

import pytest

from tailwise.wire.messages import (
    Ack,
    Heartbeat,
    Hello,
    LineCheck,
    LineStatus,
    Refusal,
    Refused,
    RunState,
    SetLines,
    SetScan,
    Start,
)
from tests.simboard.board import SimBoard
from tests.simboard.talk import Talk, both

LINES = 20


def checked(board: SimBoard, roles: bytes) -> tuple[LineCheck, Ack | Refused, Talk]:
    """LINE_CHECK and the answer of a START."""
    talk = Talk(board)
    board.run(6000)
    talk.ask(Hello(1, 1))
    talk.ask(SetLines(roles))
    talk.ask(SetScan(0, 0))
    talk.send(Start.TYPE, Start(0).payload())
    messages = talk.messages(240_000)
    check = next(message for message in messages if isinstance(message, LineCheck))
    answer = next(message for message in messages if isinstance(message, Ack | Refused))
    assert messages.index(check) < messages.index(answer)
    return check, answer, talk


def test_sound_lines_are_clear_and_unused_and_unchecked_ones_say_so() -> None:
    with SimBoard() as board:
        check, answer, _ = checked(board, b"\0" + both(LINES - 1))
    assert isinstance(answer, Ack)
    clear, unchecked, unused = LineStatus.CLEAR, LineStatus.NOT_CHECKED, LineStatus.NOT_USED
    assert list(check.statuses) == [unused] + [clear] * 15 + [unchecked] * 4 + [unused] * 4


@pytest.mark.parametrize(
    ("line", "volt", "ohm", "status"),
    [
        (0, 5.0, 100.0, LineStatus.HELD_HIGH),
        (7, 5.0, 1_000_000.0, LineStatus.HELD_HIGH),
        (8, 3.3, 10_000.0, LineStatus.HELD_HIGH),
        (15, 2.4, 1_000.0, LineStatus.HELD_HIGH),
        (3, 0.0, 0.5, LineStatus.HELD_LOW),
        (9, 0.0, 47_000.0, LineStatus.HELD_LOW),
        (12, 0.7, 1_000.0, LineStatus.HELD_LOW),
        (14, 1.2, 300.0, LineStatus.HELD_LOW),
    ],
)
def test_a_held_line_refuses_the_drive(line: int, volt: float, ohm: float, status: LineStatus) -> None:
    with SimBoard() as board:
        board.force(0, line, volt, ohm)
        check, answer, talk = checked(board, both(LINES))
        assert isinstance(answer, Refused)
        assert (answer.code, answer.detail) == (Refusal.HELD_LINE, line)
        assert [at for at, one in enumerate(check.statuses) if one in (LineStatus.HELD_HIGH, LineStatus.HELD_LOW)] == [line]
        assert check.statuses[line] == status
        beats = [message for message in talk.messages(1_000_000) if isinstance(message, Heartbeat)]
        assert {beat.state for beat in beats} == {RunState.REFUSED_DRIVE}
        assert board.measure().low_pulses == 0


def test_every_held_line_is_named_and_the_first_refused() -> None:
    with SimBoard() as board:
        for line in (11, 4, 6):
            board.force(0, line, 5.0, 4700.0)
        check, answer, _ = checked(board, both(LINES))
    assert isinstance(answer, Refused) and answer.detail == 4
    assert [at for at, one in enumerate(check.statuses) if one == LineStatus.HELD_HIGH] == [4, 6, 11]


def test_a_held_line_without_a_role_is_no_reason_to_refuse() -> None:
    with SimBoard() as board:
        board.force(0, 3, 5.0, 100.0)
        _, answer, _ = checked(board, both(3))
    assert isinstance(answer, Ack)


@pytest.mark.parametrize("picofarad", [20.0, 150.0, 470.0])
def test_the_charge_of_an_earlier_scan_is_not_taken_for_a_voltage(picofarad: float) -> None:
    with SimBoard() as board:
        for line in range(LINES):
            board.capacitance(line, picofarad)
        for other in range(1, 8):
            board.contact(0, 0, other, 200.0)
        talk = Talk(board)
        talk.start(both(LINES))
        talk.answer_to(0x05)
        check, answer, _ = checked(board, both(LINES))
    assert isinstance(answer, Ack)
    assert set(check.statuses[:16]) == {LineStatus.CLEAR}


def test_after_the_voltage_is_gone_the_same_start_works() -> None:
    with SimBoard() as board:
        board.force(0, 5, 5.0, 1000.0)
        _, answer, talk = checked(board, both(LINES))
        assert isinstance(answer, Refused)
        board.force(board.now_us(), 5, 0.0, float("inf"))
        assert isinstance(talk.ask(Start(0)), Ack)
