"""The ways the tails can stand in the harness: right, reversed, shifted by contacts, swapped."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations, product

from tailwise.harness.wiring import Wiring
from tailwise.model.layout import Layout, Tail

SHIFTS = (1, -1, 2, -2)
MANNERS: tuple[str | int, ...] = ("right", "reversed", *SHIFTS)


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
    right = Placement("right", dict(wiring.board_line), 0.8)
    tails = layout.tails or ()
    found = {tuple(sorted(right.board_line.items())): right}
    orders = list(permutations(range(len(tails)))) if len(tails) <= 3 else [tuple(range(len(tails)))]
    for order in orders:
        swapped = order != tuple(range(len(tails)))
        for manners in product(MANNERS, repeat=len(tails)):
            if sum(manner != "right" for manner in manners) + swapped > 2:
                continue
            way = _place(layout, wiring, tails, order, manners, swapped)
            found.setdefault(tuple(sorted(way.board_line.items())), way)
    return list(found.values())


def _place(
    layout: Layout,
    wiring: Wiring,
    tails: tuple[Tail, ...],
    order: tuple[int, ...],
    manners: tuple[str | int, ...],
    swapped: bool,
) -> Placement:
    on_tails = {line for tail in tails for line in tail.lines}
    board_line = {line: number for line, number in wiring.board_line.items() if line not in on_tails}
    said = ["tails swapped"] if swapped else []
    prior = 0.04 if swapped else 0.8
    for tail, socket, manner in zip(tails, order, manners, strict=True):
        contacts = [wiring.board_line[line] for line in tails[socket].lines]
        lines = tail.lines
        if manner == "reversed":
            lines = tuple(reversed(lines))
            said.append(f"tail {tail.name} reversed")
            prior *= 0.125
        by = manner if isinstance(manner, int) else 0
        if by:
            said.append(
                f"tail {tail.name} shifted by {abs(by)} contact{'s' if abs(by) > 1 else ''} {'up' if by > 0 else 'down'}"
            )
            prior *= 0.03 if abs(by) == 1 else 0.005
        for index, line in enumerate(lines):
            if 0 <= index + by < len(contacts):
                board_line[line] = contacts[index + by]
    return Placement(", ".join(said) or "right", board_line, prior)
