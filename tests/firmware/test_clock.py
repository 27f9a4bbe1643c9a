"""The 32-bit clock over its wrap, in the very image: its counter is set shortly before the end in the simulated memory."""

from __future__ import annotations

from itertools import pairwise

from tailwise.wire.messages import Ack, Alive, Heartbeat, State, Transitions
from tests.simboard.board import Closure, SimBoard
from tests.simboard.talk import Talk, both

WRAP = 1 << 32
BEFORE_US = 300_000


def set_clock(talk: Talk, clock: int) -> int:
    """Set the counter; once more where that fell between the firmware's own reading and writing. Gives when it was set."""
    for _ in range(20):
        at = talk.board.now_us()
        talk.board.poke("clock_now_us", clock.to_bytes(4, "little"))
        answer = talk.ask(Alive())
        assert isinstance(answer, Ack)
        if (answer.clock - clock) % WRAP < 10_000:
            return at
        talk.board.run(7)
    raise AssertionError("the clock could not be set")


def test_the_clock_wraps_without_a_step() -> None:
    with SimBoard() as board:
        talk = Talk(board)
        board.run(6000)
        poked = set_clock(talk, WRAP - BEFORE_US)
        talk.start(both(4))
        presses = [poked + BEFORE_US + offset for offset in (-40_000, -5_000, 4_000, 50_000)]
        for number, at in enumerate(presses):
            board.contacts([Closure(at, 1, 2, 100.0) if number % 2 == 0 else Closure(at, 1, 2)])
        talk.send(Alive.TYPE)
        frames = talk.heard(1_000_000)
    offsets = []
    changes = []
    for arrived, frame in frames:
        message = frame.message()
        if isinstance(message, State | Heartbeat):
            offsets.append(arrived - poked - (message.clock + BEFORE_US) % WRAP)
        if isinstance(message, Transitions):
            changes += [(message.clock + entry.delta + BEFORE_US) % WRAP for entry in message.entries if entry.driven == 1]
    assert len(offsets) > 45 and min(offsets) >= 0 and max(offsets) < 6000
    assert [0 <= told - (at - poked) < 1000 for told, at in zip(changes, presses, strict=True)] == [True] * 4


def test_silence_and_heartbeat_are_right_over_the_wrap() -> None:
    with SimBoard() as board:
        talk = Talk(board)
        board.run(6000)
        set_clock(talk, WRAP - 1_000_000)
        talk.start(both(2), period_us=5000)
        frames = talk.heard(1_900_000)
        beats = [message.clock for _, frame in frames if isinstance(message := frame.message(), Heartbeat)]
        states = [message.clock for _, frame in frames if isinstance(message := frame.message(), State)]
        assert states[-1] < WRAP // 2 < states[0]
        board.run(200_000)
        board.measure()
        board.run(50_000)
        assert board.measure().low_pulses == 0
    steps = [(later - earlier) % WRAP for earlier, later in pairwise(beats)]
    assert steps and all(abs(step - 500_000) < 2000 for step in steps)
