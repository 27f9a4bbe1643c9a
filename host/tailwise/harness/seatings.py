"""The ways the tails of a film can go into the sockets: reversed, shifted by contacts, into each other's socket.

A tail has numbered contacts and so has its socket; a tail put in wrongly moves every line by one rule. Where a tail has
contacts without a line, a harness may have skipped them: both ways of counting are told.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import permutations, product

from tailwise.model.layout import Layout, Tail

SHIFTS = (1, -1, 2, -2)
MOST_CHANGES = 2

Moves = dict[str, str | None]


@dataclass(frozen=True, slots=True)
class Turn:
    """What is wrong with one tail: reversed, or shifted by some contacts."""

    tail: str
    reversed: bool = False
    by: int = 0


@dataclass(frozen=True, slots=True)
class Seating:
    """One way. moves: where each line lands (None: on no contact); exchanged: pairs of tails in each other's socket."""

    moves: Moves
    turns: tuple[Turn, ...]
    exchanged: int

    @property
    def changes(self) -> int:
        """How many things went wrong."""
        return len(self.turns) + self.exchanged


def wrong_seatings(layout: Layout) -> Iterator[Seating]:
    """Every way but the right one in which at most `MOST_CHANGES` things went wrong, each arrangement of lines once."""
    tails = layout.tails or ()
    seen: set[tuple[tuple[str, str | None], ...]] = {tuple(sorted((line, line) for line in layout.lines))}
    ways = [tails]
    if any(None in tail.contacts for tail in tails):
        ways.append(tuple(replace(tail, contacts=tail.lines) for tail in tails))
    for counted in ways:
        for seating in _seatings(layout, counted):
            name = tuple(sorted(seating.moves.items()))
            if name not in seen:
                seen.add(name)
                yield seating


def _seatings(layout: Layout, tails: tuple[Tail, ...]) -> Iterator[Seating]:
    places = tuple(range(len(tails)))
    orders = list(permutations(places)) if len(tails) <= 3 else [places]
    manners = [(False, 0), (True, 0), *((False, by) for by in SHIFTS)]
    for order in orders:
        exchanged = sum(1 for place, socket in zip(places, order, strict=True) if place != socket) // 2
        for chosen in product(manners, repeat=len(tails)):
            turns = tuple(Turn(tail.name, turned, by) for tail, (turned, by) in zip(tails, chosen, strict=True) if turned or by)
            if not 0 < len(turns) + exchanged <= MOST_CHANGES:
                continue
            moves: Moves = {line: line for line in layout.lines}
            for tail, socket, (turned, by) in zip(tails, order, chosen, strict=True):
                moves.update(_seat(tail, tails[socket], turned, by))
            yield Seating(moves, turns, exchanged)


def _seat(tail: Tail, socket: Tail, turned: bool, by: int) -> Moves:
    result: Moves = {}
    for place, line in enumerate(tail.contacts):
        if line is not None:
            at = (len(tail.contacts) - 1 - place if turned else place) + by
            result[line] = socket.contacts[at] if 0 <= at < len(socket.contacts) else None
    return result
