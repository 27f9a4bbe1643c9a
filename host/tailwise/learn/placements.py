"""How probable each way is that the tails can stand in the harness, and what a person calls it."""

from __future__ import annotations

from dataclasses import dataclass

from tailwise.harness.seatings import Seating, Turn, wrong_seatings
from tailwise.harness.wiring import Wiring
from tailwise.model.layout import Layout
from tailwise.words.connecting import placed_right, placed_wrong

RIGHT = 0.8
EXCHANGED = 0.04
REVERSED = 0.125
SHIFTED_ONE = 0.03
SHIFTED_MORE = 0.005


@dataclass(frozen=True)
class Placement:
    """Layout line -> board line (absent: on no contact), and what a person calls it."""

    words: str
    board_line: dict[str, int]
    prior: float


def placements(layout: Layout, wiring: Wiring) -> list[Placement]:
    """Every way, the right one first; layouts without tails have only that one.

    Priors (common practice, no source): right 0.8, a tail reversed 0.1, shifted 0.06, swapped 0.04, combinations by product.
    """
    found = {tuple(sorted(wiring.board_line.items())): Placement(placed_right(), dict(wiring.board_line), RIGHT)}
    for seating in wrong_seatings(layout):
        board_line = {
            line: wiring.board_line[at] for line, at in seating.moves.items() if at is not None and at in wiring.board_line
        }
        told = placed_wrong([(turn.tail, turn.reversed, turn.by) for turn in seating.turns], exchanged=seating.exchanged > 0)
        found.setdefault(tuple(sorted(board_line.items())), Placement(told, board_line, _prior(seating)))
    return list(found.values())


def _prior(seating: Seating) -> float:
    prior = EXCHANGED if seating.exchanged else RIGHT
    for turn in seating.turns:
        prior *= _turn(turn)
    return prior


def _turn(turn: Turn) -> float:
    if turn.reversed:
        return REVERSED
    return SHIFTED_ONE if abs(turn.by) == 1 else SHIFTED_MORE
