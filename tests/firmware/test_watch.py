"""Watching a pair without pause: openings of microseconds, counted whole and timed well, at 150 pF and on a busy link."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import pairwise

import pytest

from tailwise.wire.messages import (
    Ack,
    Alive,
    Heartbeat,
    Hello,
    LineCheck,
    LineStatus,
    Message,
    Openings,
    Refusal,
    Refused,
    RunState,
    ScanMode,
    SetWatch,
    Start,
    State,
    Stop,
    Watched,
    WatchPullUp,
)
from tests.simboard.board import SimBoard
from tests.simboard.talk import Talk, both

SENSED, DRIVEN = 3, 9
SURE_US = 5.0
"""No opening of this length or longer may be missed."""


@pytest.fixture
def talk() -> Iterator[Talk]:
    with SimBoard() as board:
        board.run(6000)
        talk = Talk(board)
        talk.ask(Hello(1, 1))
        yield talk


def watch(talk: Talk, pairs: bytes = bytes([SENSED, DRIVEN]), pull_up: WatchPullUp = WatchPullUp.SWITCHED) -> Message:
    """SET_WATCH, then the answer of START."""
    assert isinstance(talk.ask(SetWatch(pull_up, pairs)), Ack)
    return talk.ask(Start(ScanMode.WATCH))


def plant(board: SimBoard, lengths: list[float], gap_us: tuple[float, float]) -> list[tuple[float, float]]:
    """Openings of a closed contact, one after the other; (begin, length)."""
    chance = random.Random(5)
    at = board.now_us() + 3000.0
    planted = []
    for length in lengths:
        at += chance.uniform(*gap_us)
        board.contact(at, SENSED, DRIVEN)
        board.contact(at + length, SENSED, DRIVEN, 100.0)
        planted.append((at, length))
        at += length
    return planted


def listen(talk: Talk, until_us: float) -> list[Message]:
    """Everything up to a time, ALIVE every 5 ms: the link is busy both ways."""
    messages = talk.messages()
    while talk.board.now_us() < until_us:
        talk.send(Alive.TYPE)
        messages += talk.messages(5000)
    return messages


def openings(messages: list[Message]) -> list[tuple[int, int, int]]:
    """(pair, start, length) of every opening told."""
    return [(each.pair, each.start, each.length) for one in messages if isinstance(one, Openings) for each in one.entries]


def last_watched(messages: list[Message]) -> Watched:
    return [message for message in messages if isinstance(message, Watched)][-1]


def test_openings_of_five_microseconds_are_all_seen_and_timed(talk: Talk) -> None:
    lengths = [5.0, 6.0, 7.0, 8.0, 10.0, 13.0, 17.0, 22.0, 30.0, 50.0, 90.0, 150.0, 220.0, 400.0, 900.0, 2000.0] * 16
    random.Random(9).shuffle(lengths)
    talk.board.contact(0, SENSED, DRIVEN, 100.0)
    assert isinstance(watch(talk), Ack)
    planted = plant(talk.board, lengths, (150.0, 900.0))
    messages = listen(talk, planted[-1][0] + 60_000)
    told = openings(messages)
    assert len(told) == len(planted)
    errors = [length - true for (_, _, length), (_, true) in zip(told, planted, strict=True)]
    assert all(abs(error) <= 2.0 + 0.01 * true for error, (_, true) in zip(errors, planted, strict=True))
    offsets = [start - at for (_, start, _), (at, _) in zip(told, planted, strict=True)]
    assert max(offsets) - min(offsets) < 8.0
    total = last_watched(messages)
    assert (total.openings_first, total.open_first) == (len(told), sum(length for _, _, length in told))
    assert (total.blind, total.dropped, total.closed) == (0, 0, 1)


@pytest.mark.parametrize("pairs", [[SENSED, DRIVEN], [12, 5], [SENSED, DRIVEN, 12, 5]])
def test_no_two_looks_are_further_apart_than_the_board_states(talk: Talk, pairs: list[int]) -> None:
    """Measured at the pins, the link busy, one port or both; openings down to a microsecond, some right after another."""
    for sensed, driven in ((SENSED, DRIVEN), (12, 5)):
        talk.board.contact(0, sensed, driven, 100.0)
    assert isinstance(watch(talk, bytes(pairs)), Ack)
    talk.board.run(1000)
    talk.board.measure()
    chance = random.Random(3)
    at = talk.board.now_us() + 3000.0
    for _ in range(800):
        at += chance.choice((chance.uniform(2, 30), chance.uniform(100, 400)))
        length = chance.choice((chance.uniform(1, 6), chance.uniform(5, 100)))
        talk.board.contact(at, pairs[0], pairs[1])
        talk.board.contact(at + length, pairs[0], pairs[1], 100.0)
        at += length
    messages = talk.messages()
    while talk.board.now_us() < at + 20_000:
        talk.send(Hello.TYPE, Hello(1, 1).payload())
        messages += talk.messages(4000)
    total = last_watched(messages)
    assert total.blind == 0
    assert talk.board.measure().longest_unread_us <= total.shortest_ns / 1000


def test_shorter_openings_are_seen_or_not_but_never_invented(talk: Talk) -> None:
    talk.board.contact(0, SENSED, DRIVEN, 100.0)
    assert isinstance(watch(talk), Ack)
    planted = plant(talk.board, [1.0, 2.0, 3.0, 4.0] * 25, (200.0, 700.0))
    told = openings(listen(talk, planted[-1][0] + 60_000))
    assert 0 < len(told) <= len(planted)
    assert all(length <= 8 for _, _, length in told)


@pytest.mark.parametrize("gap_us", [30.0, 200.0])
def test_bursts_are_counted_whole_when_the_link_cannot_carry_them(talk: Talk, gap_us: float) -> None:
    talk.board.contact(0, SENSED, DRIVEN, 100.0)
    assert isinstance(watch(talk), Ack)
    planted = []
    for _ in range(6):
        planted += plant(talk.board, [20.0] * 50, (gap_us, gap_us))
        talk.board.run(25_000)
    messages = listen(talk, talk.board.now_us() + 60_000)
    total = last_watched(messages)
    assert total.openings_first == len(planted)
    assert len(openings(messages)) + total.dropped == len(planted)
    assert abs(total.open_first - 20 * len(planted)) <= 2 * len(planted)
    assert total.blind == 0


def test_edges_faster_than_the_board_are_blind_time_and_not_a_hang(talk: Talk) -> None:
    """Eighty thousand edges a second; the host says nothing meanwhile, as the receiver could not keep up with both."""
    talk.board.contact(0, SENSED, DRIVEN, 100.0)
    assert isinstance(watch(talk), Ack)
    planted = plant(talk.board, [12.0] * 4000, (12.0, 12.0))
    messages = talk.messages(planted[-1][0] + 2000 - talk.board.now_us())
    messages += listen(talk, talk.board.now_us() + 60_000)
    total = last_watched(messages)
    assert 100 < total.openings_first <= len(planted)
    assert total.closed == 1
    assert total.blind > 0 or total.openings_first == len(planted)
    clocks = [message.clock for message in messages if isinstance(message, Watched)]
    assert all(later - earlier <= 50_000 for earlier, later in pairwise(clocks))


def test_a_long_opening_is_timed_over_the_wrap_of_the_short_clock(talk: Talk) -> None:
    talk.board.contact(0, SENSED, DRIVEN, 100.0)
    assert isinstance(watch(talk), Ack)
    planted = plant(talk.board, [40_000.0, 131_072.0], (5000.0, 9000.0))
    told = openings(listen(talk, planted[-1][0] + 200_000))
    assert [abs(length - true) <= 3 for (_, _, length), (_, true) in zip(told, planted, strict=True)] == [True, True]


def test_two_pairs_are_told_apart(talk: Talk) -> None:
    for pair in ((1, 8), (12, 4)):
        talk.board.contact(0, *pair, 100.0)
    assert isinstance(watch(talk, bytes([1, 8, 12, 4])), Ack)
    now = talk.board.now_us()
    talk.board.contact(now + 5000, 1, 8)
    talk.board.contact(now + 5100, 12, 4)
    talk.board.contact(now + 5200, 12, 4, 100.0)
    talk.board.contact(now + 5400, 1, 8, 100.0)
    messages = listen(talk, now + 60_000)
    lengths = {pair: length for pair, _, length in openings(messages)}
    assert abs(lengths[0] - 400) <= 4 and abs(lengths[1] - 100) <= 3
    total = last_watched(messages)
    assert (total.openings_first, total.openings_second, total.closed) == (1, 1, 3)


def test_a_pair_that_is_open_at_first_has_no_opening_until_it_was_closed(talk: Talk) -> None:
    assert isinstance(watch(talk, pull_up=WatchPullUp.OWN), Ack)
    now = talk.board.now_us()
    assert last_watched(listen(talk, now + 50_000)).closed == 0
    talk.board.contact(now + 60_000, SENSED, DRIVEN, 100.0)
    talk.board.contact(now + 80_000, SENSED, DRIVEN)
    talk.board.contact(now + 81_000, SENSED, DRIVEN, 100.0)
    told = openings(listen(talk, now + 130_000))
    assert [abs(length - 1000) < 12 for _, _, length in told] == [True]


def test_a_sound_pair_with_its_contact_held_has_no_openings(talk: Talk) -> None:
    talk.board.contact(0, SENSED, DRIVEN, 900.0)
    assert isinstance(watch(talk), Ack)
    talk.board.measure()
    messages = listen(talk, talk.board.now_us() + 600_000)
    assert openings(messages) == []
    assert talk.board.measure().largest_sink_ma <= 1.0
    beats = [message.state for message in messages if isinstance(message, Heartbeat)]
    assert set(beats) == {RunState.SCANNING}


def test_silence_and_stop_end_the_watch_and_the_matrix_still_scans(talk: Talk) -> None:
    talk.board.contact(0, SENSED, DRIVEN, 100.0)
    assert isinstance(watch(talk), Ack)
    talk.heard(2_300_000)
    beats = [message.state for message in talk.messages(600_000) if isinstance(message, Heartbeat)]
    assert set(beats) == {RunState.HOST_SILENT}
    assert isinstance(talk.ask(Start(ScanMode.WATCH)), Ack)
    assert isinstance(talk.ask(Stop()), Ack)
    assert not [message for message in talk.messages(60_000) if isinstance(message, Watched | Openings)]
    talk.start(both(13))
    assert [message for message in talk.messages(60_000) if isinstance(message, State)]


def test_start_without_set_watch_and_lines_that_cannot_be_watched(talk: Talk) -> None:
    def code(message: Message) -> tuple[int, int]:
        assert isinstance(message, Refused)
        return message.code, message.detail

    assert code(talk.ask(Start(ScanMode.WATCH))) == (Refusal.NOT_CONFIGURED, 255)
    for pairs, line in (((16, 1), 16), ((1, 24), 24), ((2, 2), 2), ((1, 2, 1, 3), 1), ((1, 2, 2, 3), 2)):
        assert code(talk.ask(SetWatch(1, bytes(pairs)))) == (Refusal.BAD_LINE, line)
    assert isinstance(talk.ask(SetWatch(1, bytes([1, 20, 2, 20]))), Ack)


def test_a_held_line_refuses_the_watch(talk: Talk) -> None:
    talk.board.force(0, DRIVEN, 5.0, 1000.0)
    assert isinstance(talk.ask(SetWatch(1, bytes([SENSED, DRIVEN]))), Ack)
    talk.send(Start.TYPE, Start(ScanMode.WATCH).payload())
    messages = talk.messages(200_000)
    check = next(message for message in messages if isinstance(message, LineCheck))
    assert check.statuses[DRIVEN] == LineStatus.HELD_HIGH and check.statuses[0] == LineStatus.NOT_USED
    assert [message.code for message in messages if isinstance(message, Refused)] == [Refusal.HELD_LINE]
    assert talk.board.measure().low_pulses == 0
