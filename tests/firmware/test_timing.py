"""The bars: at the shipped settle time, 150 pF a line, pull-ups of 50 kohm and a busy link.

Every time is the board's own, measured at its pins; nothing depends on the machine that runs the test.
"""

from __future__ import annotations

import random
from itertools import pairwise

import pytest

from tailwise.wire.messages import Alive, Heartbeat, State, Transitions
from tests.simboard.board import Closure, SimBoard
from tests.simboard.talk import Talk, both

BUSY_US = 400_000
OVERLOAD_PULSE_US = 25.0


def chatter(pairs: list[tuple[int, int]], from_us: int, to_us: int, mean_us: float) -> list[Closure]:
    """Contacts that open and close without rest, as nothing real does for so long."""
    chance = random.Random(7)
    closures = []
    for line, other in pairs:
        at, closed = float(from_us), True
        while at < to_us:
            closures.append(Closure(at, line, other, 100.0) if closed else Closure(at, line, other))
            at, closed = at + 1 + chance.expovariate(1 / mean_us), not closed
        closures.append(Closure(to_us, line, other))
    return closures


def keep_busy(talk: Talk, microseconds: int) -> None:
    """ALIVE every 4 ms."""
    for _ in range(microseconds // 4000):
        talk.send(Alive.TYPE)
        talk.board.run(4000)


@pytest.mark.parametrize(
    ("lines", "pairs", "bar_us"),
    [
        (13, [(0, 7), (1, 8)], 250.0),
        (13, [(0, 12), (3, 9), (6, 10)], 250.0),
        (16, [(0, 8), (1, 9)], 350.0),
        (16, [(0, 8), (1, 9), (2, 10), (7, 15)], 350.0),
    ],
)
def test_the_worst_full_scan(lines: int, pairs: list[tuple[int, int]], bar_us: float) -> None:
    with SimBoard() as board:
        talk = Talk(board)
        talk.start(both(lines))
        board.run(50_000)
        board.measure()
        now = board.now_us()
        board.contacts(chatter(pairs, now, now + BUSY_US, 1500.0))
        talk.heard()
        keep_busy(talk, BUSY_US)
        measured = board.measure()
        told = [message for message in talk.messages(600_000) if isinstance(message, Heartbeat)]
    assert measured.longest_scan_us <= bar_us
    assert measured.longest_low_us < OVERLOAD_PULSE_US
    assert measured.longest_high_us < OVERLOAD_PULSE_US
    assert all(beat.worst_scan_us <= bar_us and beat.overruns == 0 for beat in told)


def test_contact_to_message_on_a_busy_link() -> None:
    chance = random.Random(3)
    late = []
    with SimBoard() as board:
        talk = Talk(board)
        talk.start(both(13))
        board.run(50_000)
        begin = board.now_us()
        board.contacts(chatter([(1, 8)], begin, begin + BUSY_US, 1500.0))
        presses = [begin + 10_000 * step + chance.randrange(10_000) for step in range(1, BUSY_US // 10_000 - 1)]
        for number, at in enumerate(presses):
            board.contact(at, 0, 7, 100.0 if number % 2 == 0 else float("inf"))
        talk.heard()
        keep_busy(talk, BUSY_US + 20_000)
        changes = [
            (arrived, entry.closed)
            for arrived, frame in talk.heard()
            if isinstance(message := frame.message(), Transitions)
            for entry in message.entries
            if (entry.driven, entry.sensed) == (7, 0)
        ]
    assert [closed for _, closed in changes] == [number % 2 == 0 for number in range(len(presses))]
    late = [arrived - at for (arrived, _), at in zip(changes, presses, strict=True)]
    assert max(late) <= 5000.0
    assert min(late) > 0.0


def test_states_keep_coming_when_more_happens_than_the_link_carries() -> None:
    with SimBoard() as board:
        talk = Talk(board)
        talk.start(both(13))
        now = board.now_us()
        board.contacts(chatter([(0, 7), (1, 8), (2, 9), (3, 10)], now, now + 200_000, 300.0))
        keep_busy(talk, 260_000)
        states = [message for message in talk.messages() if isinstance(message, State)]
    gaps = [(later.clock - earlier.clock) % 2**32 for earlier, later in pairwise(states)]
    assert max(gaps) <= 50_000
    assert states[-1].dropped > 0
    assert not any(states[-1].closed)


@pytest.mark.parametrize("settle_ns", [1, 2500, 20_000])
def test_pulses_stay_short_at_any_settle_time(settle_ns: int) -> None:
    with SimBoard() as board:
        talk = Talk(board)
        talk.start(both(24), settle_ns=settle_ns)
        keep_busy(talk, 40_000)
        measured = board.measure()
    assert settle_ns / 1000 <= measured.longest_low_us < OVERLOAD_PULSE_US


def test_the_matrix_misses_no_opening_longer_than_its_scan() -> None:
    """A held contact opens for the longest scan the board ever stated, and 20 us more, at random phases."""
    chance = random.Random(13)
    with SimBoard() as board:
        board.contact(0, 4, 9, 100.0)
        talk = Talk(board)
        talk.start(both(13))
        keep_busy(talk, 600_000)
        stated = [message.worst_scan_us for message in talk.messages() if isinstance(message, Heartbeat)][-1]
        begin = board.now_us()
        openings = [begin + 4000 * step + chance.uniform(0, 2000) for step in range(1, 100)]
        for at in openings:
            board.contacts([Closure(at, 4, 9), Closure(at + stated + 20, 4, 9, 100.0)])
        talk.heard()
        keep_busy(talk, 404_000)
        told = [
            entry
            for message in talk.messages(10_000)
            if isinstance(message, Transitions)
            for entry in message.entries
            if (entry.driven, entry.sensed) == (4, 9)
        ]
    assert [entry.closed for entry in told] == [False, True] * len(openings)


def test_all_24_lines_keep_the_limits_too() -> None:
    with SimBoard() as board:
        talk = Talk(board)
        talk.start(both(24))
        board.run(50_000)
        board.measure()
        now = board.now_us()
        board.contacts(chatter([(0, 20), (7, 23)], now, now + 200_000, 1500.0))
        talk.heard()
        keep_busy(talk, 200_000)
        measured = board.measure()
        states = [message for message in talk.messages(20_000) if isinstance(message, State)]
    assert measured.longest_scan_us <= 500.0
    assert max((later.clock - earlier.clock) % 2**32 for earlier, later in pairwise(states)) <= 50_000
