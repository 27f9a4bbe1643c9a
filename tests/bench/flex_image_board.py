"""The real image watching a simulated membrane: what is planted, how the link is kept full, and what the board told.

Saturated: the host sends HELLO again as soon as the last one is answered (one command unanswered at a time, as the protocol
asks), so that commands come as fast as they may and the long IDENTITY fills the way back. HELLO changes nothing.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from tailwise.wire.messages import Ack, Hello, Identity, Message, Openings, ScanMode, SetWatch, Start, Watched, WatchPullUp
from tests.simboard.board import SimBoard
from tests.simboard.talk import Talk

SENSED, DRIVEN = 3, 9
SENSED_TOO, DRIVEN_TOO = 12, 5
CONTACT_OHM = 100.0
BYTE_US = 20.0
STEP_US = 250.0
"""How long the host takes to see an answer, at most."""
BOOT_US = 6000.0
REST_US = 200_000.0
MARK_US = 1000.0
"""Length of the first opening, which ties the board's clock to the simulation's and is not judged."""


@dataclass(frozen=True, slots=True)
class Opening:
    """One opening of a pair, microseconds."""

    pair: int
    at: float
    length: float


@dataclass
class Told:
    """What the board said: openings one by one in the simulation's time, the last WATCHED, and how full the link was."""

    openings: list[Opening]
    total: Watched
    watched: list[Watched]
    link_use: float
    mark_us: int
    """Length told of the opening that ties the clocks together."""


def lengths(rng: random.Random, count: int, least: float = 1.0, most: float = 2000.0) -> list[float]:
    """Lengths even on a logarithmic scale, so that short ones are as well tried as long ones."""
    return [least * (most / least) ** rng.random() for _ in range(count)]


def singles(rng: random.Random, count: int, begin: float, pair: int = 0) -> list[Opening]:
    """One by one, 0.3 to 1.5 ms apart, at random phases."""
    planted, at = [], begin
    for length in lengths(rng, count):
        at += rng.uniform(300, 1500)
        planted.append(Opening(pair, at, length))
        at += length
    return planted


def bursts(rng: random.Random, count: int, begin: float, size: int = 50) -> list[Opening]:
    """Bursts of `size`, 20 to 60 us between openings and 60 ms between bursts."""
    planted, at = [], begin
    for number, length in enumerate(lengths(rng, count)):
        at += rng.uniform(20, 60) + (60_000 if number % size == 0 else 0)
        planted.append(Opening(0, at, length))
        at += length
    return planted


@contextmanager
def watching(*, two: bool = False, held: bool = True) -> Iterator[Talk]:
    """A board that watches one pair or two with the switched pull-up, their contacts held or not; 150 pF a line."""
    pairs = [SENSED, DRIVEN] + [SENSED_TOO, DRIVEN_TOO] * two
    with SimBoard() as board:
        if held:
            board.contact(0, SENSED, DRIVEN, CONTACT_OHM)
            board.contact(0, SENSED_TOO, DRIVEN_TOO, CONTACT_OHM)
        board.run(BOOT_US)
        talk = Talk(board)
        for command in (SetWatch(WatchPullUp.SWITCHED, bytes(pairs)), Start(ScanMode.WATCH)):
            answer = talk.ask(command)
            assert isinstance(answer, Ack), answer
        yield talk


def plant(board: SimBoard, openings: Iterable[Opening], *, tail: bool) -> None:
    """Schedule openings: of the contact (the whole line is left to charge), or of the tail (only the pin and its lead)."""
    for each in sorted(openings, key=lambda one: one.at):
        sensed, driven = ((SENSED, DRIVEN), (SENSED_TOO, DRIVEN_TOO))[each.pair]
        if tail:
            board.lead(each.at, sensed, off=True)
            board.lead(each.at + each.length, sensed, off=False)
        else:
            board.contact(each.at, sensed, driven)
            board.contact(each.at + each.length, sensed, driven, CONTACT_OHM)


def saturate(talk: Talk, until_us: float) -> tuple[list[Message], float]:
    """Everything told up to a time on a full link, and the share of that time in which the board's transmitter was busy."""
    board, messages, sent = talk.board, talk.messages(), 0
    began, waiting = board.now_us(), False
    while board.now_us() < until_us:
        if not waiting:
            talk.send(Hello.TYPE, Hello(1, 1).payload())
            waiting = True
        sent += len(board.run(STEP_US))
        for message in talk.messages():
            messages.append(message)
            waiting = waiting and not isinstance(message, Identity)
    return messages, sent * BYTE_US / max(1.0, board.now_us() - began)


def watch(talk: Talk, planted: list[Opening], *, tail: bool = False) -> Told:
    """Let all this happen on a full link, after the opening that ties the clocks together."""
    mark_at = min(each.at for each in planted) - 20_000
    plant(talk.board, [Opening(0, mark_at, MARK_US)], tail=False)
    plant(talk.board, planted, tail=tail)
    messages, use = saturate(talk, max(each.at + each.length for each in planted) + REST_US)
    entries = [entry for message in messages if isinstance(message, Openings) for entry in message.entries]
    watched = [message for message in messages if isinstance(message, Watched)]
    ahead = mark_at - entries[0].start
    told = [Opening(entry.pair, entry.start + ahead, float(entry.length)) for entry in entries[1:]]
    return Told(told, watched[-1], watched, use, entries[0].length)
