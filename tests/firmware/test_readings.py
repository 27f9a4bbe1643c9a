"""What the scan reads is what is joined, and nothing else."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tailwise.wire.messages import Alive, Heartbeat, LineRole, State, Stop, Transitions
from tests.simboard import build
from tests.simboard.board import Closure, SimBoard
from tests.simboard.talk import Pairs, Talk, both, every_closure, joined

PRECHARGE = "lines_drive(driven_between, with_a); /* high, all of them */"


def slow_lines(board: SimBoard, lines: int, ohm: float = 50_000.0) -> None:
    """The slow case: 150 pF and the weakest pull-up."""
    for line in range(lines):
        board.capacitance(line, 150.0)
        board.pullup(line, ohm)


def readings_at_rest(board: SimBoard, roles: bytes, contacts: list[tuple[int, int, float]], settle_ns: int = 0) -> Pairs:
    """Every closure ever told while these contacts are closed all the time."""
    for line, other, ohm in contacts:
        board.contact(0, line, other, ohm)
    talk = Talk(board)
    talk.start(roles, settle_ns)
    return every_closure(talk.messages(100_000))


@pytest.mark.parametrize("ohm", [1.0, 100.0, 10_000.0])
@pytest.mark.parametrize("pair", [(0, 1), (5, 6), (7, 8), (15, 16), (0, 23), (12, 13)])
def test_one_contact_is_read_in_both_directions_and_nowhere_else(pair: tuple[int, int], ohm: float) -> None:
    with SimBoard() as board:
        slow_lines(board, 24)
        assert readings_at_rest(board, both(24), [(*pair, ohm)]) == joined(pair)


def test_joined_contacts_read_as_groups() -> None:
    contacts = [(0, 7, 80.0), (1, 7, 80.0), (1, 8, 80.0), (20, 22, 500.0)]
    with SimBoard() as board:
        slow_lines(board, 24)
        assert readings_at_rest(board, both(24), contacts) == joined((0, 1, 7, 8), (20, 22))


def test_contacts_that_come_and_go_invent_nothing_on_the_next_line() -> None:
    chance = random.Random(11)
    pairs = [(0, 7), (3, 9), (6, 12)]
    with SimBoard() as board:
        slow_lines(board, 13)
        talk = Talk(board)
        talk.start(both(13))
        begin = board.now_us()
        for line, other in pairs:
            at = float(begin)
            while at < begin + 400_000:
                board.contact(at, line, other, chance.choice([20.0, 300.0, 5000.0]))
                board.contact(at := at + chance.uniform(200, 3000), line, other)
                at += chance.uniform(200, 3000)
        messages = []
        for _ in range(4):
            talk.send(Alive.TYPE)
            messages += talk.messages(110_000)
    assert every_closure(messages) == joined(*pairs)


def test_the_precharge_is_what_keeps_the_next_line_clean(tmp_path: Path) -> None:
    """At a settle time far too short for a line's rise: right with the precharge, and closures invented without it."""
    spoilt = build.spoilt(tmp_path, "scan.c", PRECHARGE, "(void)driven_between;")
    seen = []
    for image in (build.IMAGE, spoilt):
        with SimBoard(image) as board:
            slow_lines(board, 13)
            seen.append(readings_at_rest(board, both(13), [(3, 4, 100.0)], settle_ns=500))
    assert seen[0] == joined((3, 4))
    assert seen[1] > seen[0]


def test_lines_that_may_only_be_sensed_are_given_time_to_rise() -> None:
    rows, columns = range(7), range(7, 13)
    roles = bytes([LineRole.DRIVEN] * 7 + [LineRole.SENSED] * 6)
    with SimBoard() as board:
        slow_lines(board, 13)
        closed = readings_at_rest(board, roles, [(0, 7, 100.0), (1, 8, 8000.0), (6, 12, 100.0)])
        assert closed == {(0, 7), (1, 8), (6, 12)}
        assert board.measure().longest_scan_us <= 250.0
    assert not {sensed for _, sensed in closed} & set(rows) and not {driven for driven, _ in closed} & set(columns)


def test_changes_are_told_once_in_order_and_states_agree() -> None:
    with SimBoard() as board:
        talk = Talk(board)
        started = talk.start(both(8))
        now = board.now_us()
        board.contacts([Closure(now + 3000, 2, 6, 50.0), Closure(now + 33_000, 2, 6), Closure(now + 61_000, 2, 6, 50.0)])
        messages = talk.messages(100_000)
        assert talk.ask(Stop())
    told = [
        (message.clock + entry.delta, entry.driven, entry.sensed, entry.closed)
        for message in messages
        if isinstance(message, Transitions)
        for entry in message.entries
    ]
    assert sorted(told) == told and told[0][0] > started.clock
    for driven, sensed in ((2, 6), (6, 2)):
        assert [closed for _, *pair, closed in told if pair == [driven, sensed]] == [True, False, True]
    last = [message for message in messages if isinstance(message, State)][-1]
    assert every_closure([last]) == joined((2, 6))


def test_a_lead_off_the_harness_is_a_line_that_never_closes() -> None:
    with SimBoard() as board:
        board.lead(0, 7, off=True)
        assert readings_at_rest(board, both(13), [(0, 7, 50.0), (1, 8, 50.0)]) == joined((1, 8))


@pytest.mark.parametrize(("others", "overloaded"), [(4, False), (5, True), (23, True)])
def test_current_and_overload(others: int, overloaded: bool) -> None:
    """Pull-ups of 20 kohm, the strongest: 1 mA with four lines joined to the driven one, 5 mA with all, told as overload."""
    with SimBoard() as board:
        slow_lines(board, 24, 20_000.0)
        talk = Talk(board)
        talk.start(both(24))
        now = board.now_us()
        for other in range(1, others + 1):
            board.press(0, other, now + 100, now + 4000, 1.0)
        board.run(1000)
        board.measure()
        board.run(2500)
        steady = board.measure()
        talk.send(Alive.TYPE)
        beat = [message for message in talk.messages(700_000) if isinstance(message, Heartbeat)][-1]
    assert steady.largest_sink_ma <= (5.0 if overloaded else 1.0)
    assert (beat.overloads > 0) == overloaded
