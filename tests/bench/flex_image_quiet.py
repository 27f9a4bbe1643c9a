"""Nothing invented: a sound membrane with contact bounce and noise, keys pressed and held by a hand, watched and scanned.

Truth: when each contact was joined. An opening told while its contact was joined is invented; so is a reading of the matrix
that no moment within the last scan bears out. Noise: 2 of 1024 parts of the supply (rms) on every reading of an input.
"""

from __future__ import annotations

import math
import random
from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from tailwise.wire.messages import Alive, Message, Openings, Transitions, Watched
from tests.bench.common import Bar
from tests.bench.flex_image_board import DRIVEN, DRIVEN_TOO, SENSED, SENSED_TOO, watching
from tests.simboard.board import SimBoard
from tests.simboard.talk import Talk, both

NOISE_LSB = 2.0
BOUNCE_US = 5000.0
"""Bounce under 5 ms: common practice for membranes."""
ALIVE_US = 400_000
EDGE_US = 4.0
"""How far the ends of a told opening may be out."""
SCAN_US = 600.0
"""Two scans at their longest: a reading is never older, whichever way its clock was rounded."""
LINES = 13


@dataclass
class Contact:
    """One contact and the times at which it was joined and parted, in turn, microseconds."""

    line: int
    other: int
    turns: list[float] = field(default_factory=list)

    def joined_at(self, at: float) -> bool:
        """Joined at a time."""
        return bisect_right(self.turns, at) % 2 == 1

    def open_us(self, begin: float, end: float) -> float:
        """For how long of a span it was apart."""
        inside = self.turns[bisect_right(self.turns, begin) : bisect_left(self.turns, end)]
        points = [begin, *inside, end]
        joined, total = self.joined_at(begin), 0.0
        for earlier, later in pairwise(points):
            total += 0.0 if joined else later - earlier
            joined = not joined
        return total


def bounce(rng: random.Random, at: float) -> list[float]:
    """Turns of a contact that bounces from a time on: an odd number, so that it has changed in the end."""
    count = rng.choice((1, 3, 5, 7, 11))
    return sorted(at + BOUNCE_US * rng.random() ** 2 for _ in range(count))


def press(board: SimBoard, rng: random.Random, contact: Contact, begin: float, end: float) -> None:
    """Pressed and released, with bounce both times."""
    for turn in bounce(rng, begin) + bounce(rng, end):
        contact.turns.append(turn)
        board.contact(turn, contact.line, contact.other, rng.uniform(50, 2000) if len(contact.turns) % 2 else math.inf)


def hand(board: SimBoard, rng: random.Random, contacts: list[Contact], seconds: float) -> Iterator[float]:
    """Presses a contact, or two that share no line, at a time; yields the time up to which everything is planned."""
    at = board.now_us() + 20_000.0
    end = at + seconds * 1e6
    while at < end:
        held_until = at + rng.uniform(0.3e6, 4e6)
        first, second = rng.sample(contacts, 2)
        apart = not {first.line, first.other} & {second.line, second.other}
        for contact in (first, second) if apart and rng.random() < 0.7 else (first,):
            press(board, rng, contact, at + rng.uniform(0, 50_000), held_until + rng.uniform(0, 50_000))
        at = held_until + rng.uniform(100_000, 400_000)
        yield at


def mark(board: SimBoard, contact: Contact) -> float:
    """A clean closure that ties the board's clock to the simulation's; when it parts again."""
    at = board.now_us() + 5000.0
    for turn, ohm in ((at, 100.0), (at + 20_000, math.inf), (at + 21_000, 100.0), (at + 60_000, math.inf)):
        contact.turns.append(turn)
        board.contact(turn, contact.line, contact.other, ohm)
    return at + 20_000


def live(talk: Talk, until: float) -> list[Message]:
    """Up to a time, ALIVE now and then."""
    messages: list[Message] = []
    while talk.board.now_us() < until:
        talk.send(Alive.TYPE)
        messages += talk.messages(min(ALIVE_US, until - talk.board.now_us() + 1))
    return messages


def quiet_watch(rng: random.Random, seconds: float) -> tuple[int, str]:
    """Openings told while their contact was joined, and a line for people."""
    contacts = [Contact(SENSED, DRIVEN), Contact(SENSED_TOO, DRIVEN_TOO)]
    with watching(two=True, held=False) as talk:
        board = talk.board
        board.noise(0, NOISE_LSB, rng.randrange(1 << 20))
        parted = mark(board, contacts[0])
        messages = live(talk, board.now_us() + 100_000)
        for planned in hand(board, rng, contacts, seconds):
            messages += live(talk, planned)
    entries = [entry for message in messages if isinstance(message, Openings) for entry in message.entries]
    total = [message for message in messages if isinstance(message, Watched)][-1]
    ahead = parted - entries[0].start
    invented = 0
    for entry in entries:
        begin = entry.start + ahead - EDGE_US
        apart = contacts[entry.pair].open_us(begin, begin + entry.length + 2 * EDGE_US)
        invented += apart <= max(0.0, entry.length / 2 - EDGE_US)
    lost = total.openings_first + total.openings_second - len(entries) - total.dropped
    line = (
        f"watched for {seconds:.0f} s with bounce and noise: {len(entries)} openings told, of bounce and of fingers that came "
        f"back, {invented} invented, {abs(lost)} counted wrong, blind {total.blind} us"
    )
    return invented + abs(lost), line


def quiet_matrix(rng: random.Random, seconds: float) -> tuple[int, str]:
    """Readings that no moment within the last scan bears out, and a line for people."""
    contacts = [Contact(line, other) for line in range(7) for other in range(7, LINES)]
    by_pair = {(each.line, each.other): each for each in contacts}
    with SimBoard() as board:
        board.noise(0, NOISE_LSB, rng.randrange(1 << 20))
        talk = Talk(board)
        talk.start(both(LINES))
        parted = mark(board, contacts[0])
        messages = live(talk, board.now_us() + 100_000)
        for planned in hand(board, rng, contacts, seconds):
            messages += live(talk, planned)
    told = [
        (message.clock + entry.delta, entry)
        for message in messages
        if isinstance(message, Transitions)
        for entry in message.entries
    ]
    first_parted = next(clock for clock, entry in told if not entry.closed)
    ahead = parted - first_parted
    invented = 0
    for clock, entry in told:
        contact = by_pair.get((min(entry.driven, entry.sensed), max(entry.driven, entry.sensed)))
        end = clock + ahead + SCAN_US
        begin = end - 2 * SCAN_US
        apart = contact.open_us(begin, end) if contact is not None else end - begin
        invented += apart == (end - begin if entry.closed else 0.0)
    return invented, f"scanned for {seconds:.0f} s with bounce and noise: {len(told)} readings told, {invented} invented"


def quiet(rng: random.Random, minutes: float) -> tuple[list[Bar], list[str]]:
    """Half of the minutes watched, half of them scanned."""
    watched, watch_line = quiet_watch(rng, minutes * 30)
    scanned, scan_line = quiet_matrix(rng, minutes * 30)
    bar = Bar(f"openings invented in {minutes:g} simulated minutes", float(watched + scanned), 0.0, "<=")
    return [bar], [watch_line, scan_line]
