"""Which pairs of lines `prove` watches: lines that the board takes, the liveliest first.

Nothing on the wire says which lines can be sensed in a watch or which have the switched pull-up, so SET_WATCH is asked. A pair
that opened and closed in the scans before is the best, since it is likely to do so again; then one that read closed.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import permutations

from tailwise.conformance.expect import want_refusal
from tailwise.conformance.rule import Broken, NotApplicable
from tailwise.conformance.scans import matrix_of
from tailwise.conformance.session import Session
from tailwise.conformance.spoken import spoken, type_name
from tailwise.wire.messages import MAX_LINES, Ack, Capability, Refusal, Refused, SetWatch, State, Transitions, WatchPullUp
from tailwise.words import conformance_watch as words
from tailwise.words.conformance import wanted_ack

TRIED_AT_MOST = 12
"""So many partners of a line are tried before it counts as one that cannot be sensed."""

MOVED, CLOSED = 1000, 1
"""How much livelier a pair that changed is than one that only reads closed."""


@dataclass(frozen=True, slots=True)
class Pairs:
    """What the board takes: one pair, and two pairs or none where only one line can be sensed; lines in turn."""

    pull_up: WatchPullUp
    one: bytes
    two: bytes


def need_watch(board: Session) -> None:
    """NotApplicable where the board does not say that it can watch."""
    if not board.identity.capabilities & Capability.WATCH_LINE:
        raise NotApplicable(words.NO_WATCH)


def choose(board: Session) -> Pairs:
    """Pairs that the board takes; Broken where it takes none although it says that it can watch."""
    need_watch(board)
    if isinstance(board.pairs, Pairs):
        return board.pairs
    order = _liveliest(board)
    for pull_up in (WatchPullUp.SWITCHED, WatchPullUp.OWN):
        for one in order[: 2 * TRIED_AT_MOST]:
            if not _takes(board, pull_up, bytes(one)):
                continue
            two = _second(board, pull_up, one, order)
            board.pairs = Pairs(pull_up, bytes(one), two)
            return board.pairs
    raise Broken(words.NO_PAIR)


def _second(board: Session, pull_up: WatchPullUp, one: tuple[int, int], order: list[tuple[int, int]]) -> bytes:
    sensed, driven = one
    others = [pair for pair in order if pair[0] not in one and pair[1] != sensed]
    others.sort(key=lambda pair: pair[1] == driven)
    tried: set[int] = set()
    for other in others:
        if other[0] in tried:
            continue
        tried.add(other[0])
        if _takes(board, pull_up, bytes((*one, *other))):
            return bytes((*one, *other))
    return b""


def _takes(board: Session, pull_up: WatchPullUp, pairs: bytes) -> bool:
    """Whether SET_WATCH is acknowledged; it may say that a line cannot be watched so, and nothing else."""
    asked = board.ask(SetWatch(pull_up, pairs))
    if isinstance(asked.answer, Ack):
        return True
    if not isinstance(asked.answer, Refused):
        raise Broken(wanted_ack(type_name(asked.type), spoken(asked.answer)))
    want_refusal(asked, Refusal.BAD_LINE, Refusal.UNSUPPORTED)
    return False


def _liveliest(board: Session) -> list[tuple[int, int]]:
    """(sensed, driven), those that moved or read closed in the scans so far first."""
    count = board.identity.line_count
    if not 2 <= count <= MAX_LINES:
        raise NotApplicable(words.NO_PAIR)
    seen = Counter[tuple[int, int]]()
    for run in board.runs:
        for heard in board.heard[run.first : run.end]:
            if isinstance(heard.message, Transitions):
                seen.update({(entry.sensed, entry.driven): MOVED for entry in heard.message.entries})
            elif isinstance(heard.message, State):
                matrix = matrix_of(heard.message, run.roles, count) or {}
                seen.update({(sensed, driven): CLOSED for (driven, sensed), closed in matrix.items() if closed})
    return sorted(permutations(range(count), 2), key=lambda pair: (-seen[pair], pair))
