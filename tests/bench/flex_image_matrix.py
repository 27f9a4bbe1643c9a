"""The whole matrix scanned on a full link: a held contact that opens for longer than the board's stated scan and 20 us."""

from __future__ import annotations

import random

from tailwise.wire.messages import Heartbeat, Message, Transitions
from tests.bench.common import Bar, at_most
from tests.bench.flex_image_board import CONTACT_OHM, saturate
from tests.simboard.board import SimBoard
from tests.simboard.talk import Talk, both

LINES = 13
PAIR = (4, 9)
SETTLE_US = 20.0
"""What the protocol's promise adds to the scan period."""
WARM_US = 1_200_000.0


def told_openings(messages: list[Message]) -> list[bool]:
    """Readings of the pair in the order told: closed or not."""
    return [
        entry.closed
        for message in messages
        if isinstance(message, Transitions)
        for entry in message.entries
        if (entry.driven, entry.sensed) == PAIR
    ]


def openings(rng: random.Random, count: int, stated_us: int, begin: float) -> list[tuple[float, float]]:
    """(begin, length), from just what cannot be missed to twice that."""
    planted, at = [], begin
    for _ in range(count):
        at += rng.uniform(1500, 3500)
        length = (stated_us + SETTLE_US) * rng.uniform(1.0, 2.0)
        planted.append((at, length))
        at += length
    return planted


def matrix(rng: random.Random, count: int) -> tuple[list[Bar], list[str]]:
    """As many openings."""
    with SimBoard() as board:
        board.contact(0, *PAIR, CONTACT_OHM)
        talk = Talk(board)
        talk.start(both(LINES))
        messages, _ = saturate(talk, board.now_us() + WARM_US)
        stated = [message.worst_scan_us for message in messages if isinstance(message, Heartbeat)][-1]
        planted = openings(rng, count, stated, board.now_us() + 2000)
        for at, length in planted:
            board.contact(at, *PAIR)
            board.contact(at + length, *PAIR, CONTACT_OHM)
        messages, use = saturate(talk, planted[-1][0] + 20_000)
        scan_us = board.measure().longest_scan_us
    told = told_openings(messages)
    missed = count - told.count(False)
    line = (
        f"matrix of {LINES} lines, link {use:.0%} full: scan stated {stated} us, measured {scan_us:.0f} us at most; "
        f"{count} openings of {stated + SETTLE_US:.0f} us and more, {missed} missed"
    )
    orderly = told == [False, True] * (len(told) // 2)
    bars = [
        at_most("matrix: missed of scan period + 20 us and more", max(0, missed), count, 0.0),
        Bar("matrix: openings told that never were", float(max(0, -missed) + (not orderly)), 0.0, "<="),
    ]
    return bars, [line]
