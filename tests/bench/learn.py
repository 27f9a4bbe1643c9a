"""How well and with how few presses an unknown keyboard is learned, and how soon a connection is settled.

The truth is a random matrix on random board lines, read by a small model of its own (contacts, one-way contacts, silent keys,
slips onto a neighbour of the drawing); nothing of the learning room is used to make it.
"""

from __future__ import annotations

import random
import statistics
import sys
from dataclasses import dataclass

from tailwise.harness.wiring import Wiring
from tailwise.learn.connection import Connection
from tailwise.learn.freewiring import FreeWiring
from tailwise.learn.learner import Learner
from tailwise.learn.result import learned
from tailwise.learn.sighting import BoardPair
from tailwise.model.layout import Key, KeyboardKind, Layout, Position, Tail
from tests.bench.common import Bar, Outcome, at_least, run_bench

SLIP = 0.01
MISSED = 0.01
SILENT = 0.05


@dataclass
class Specimen:
    """A keyboard on the bench: key -> (row board line, column board line), which conduct which way, which are silent."""

    rng: random.Random
    contact: dict[str, tuple[int, int]]
    near: dict[str, list[str]]
    way: str
    silent: set[str]

    def press(self, key: str) -> frozenset[BoardPair]:
        """What one press of a person shows: mostly the key, sometimes nothing, sometimes a neighbour or both."""
        chance = self.rng.random()
        pressed = [key]
        if chance < SLIP:
            other = self.rng.choice(self.near[key])
            pressed = [other] if self.rng.random() < 0.5 else [key, other]
        elif chance < SLIP + MISSED:
            pressed = []
        pairs: set[BoardPair] = set()
        for each in pressed:
            if each in self.silent:
                continue
            row, column = self.contact[each]
            if self.way != "column":
                pairs.add((row, column))
            if self.way != "row":
                pairs.add((column, row))
        return frozenset(pairs)


def make_specimen(rng: random.Random, rows: int, columns: int, board: int = 24) -> tuple[Specimen, Layout]:
    """A random full matrix of that size on random board lines, with its drawing in random order."""
    lines = rng.sample(range(board), rows + columns)
    names = [f"K{number}" for number in range(rows * columns)]
    places = [(row, column) for row in range(rows) for column in range(columns)]
    rng.shuffle(places)
    wide = columns + rng.randrange(4)
    keys = []
    contact = {}
    for number, (name, (row, column)) in enumerate(zip(names, places, strict=True)):
        position = Position(float(number % wide), float(number // wide))
        keys.append(Key(name, name, f"R{row}", f"C{column}", position))
        contact[name] = (lines[row], lines[rows + column])
    at = {(key.position.x, key.position.y): key.id for key in keys}
    near = {
        key.id: [
            at[key.position.x + dx, key.position.y + dy]
            for dx, dy in ((-1, 0), (1, 0), (0, -1), (0, 1))
            if (key.position.x + dx, key.position.y + dy) in at
        ]
        for key in keys
    }
    way = rng.choice(("row", "column")) if rng.random() < 1 / 3 else "both"
    silent = {name for name in names if rng.random() < SILENT}
    layout = Layout(
        id="random",
        title="random",
        kind=KeyboardKind.FILM,
        rows=tuple(f"R{row}" for row in range(rows)),
        columns=tuple(f"C{column}" for column in range(columns)),
        keys=tuple(keys),
        tails=(
            Tail("J1", tuple(f"R{row}" for row in range(rows))),
            Tail("J2", tuple(f"C{column}" for column in range(columns))),
        ),
    )
    return Specimen(rng, contact, near, way, silent), layout


def learn_once(rng: random.Random) -> tuple[int, int, int, int]:
    """Keys right, keys that could be seen, presses, keys in all."""
    specimen, layout = make_specimen(rng, rng.randint(3, 12), rng.randint(3, 12))
    drawn = tuple(Key(key.id, key.legend, None, None, key.position) for key in layout.keys)
    learner = Learner(tuple(key.id for key in drawn))
    presses = 0
    while (key := learner.next_key()) is not None:
        learner.saw(key, specimen.press(key))
        presses += 1
    result = learned(drawn, learner)
    right = seen = 0
    for each in result.keys:
        if each.id in specimen.silent:
            continue
        seen += 1
        if each.row is not None and each.column is not None and not each.also:
            right += {result.board_line[each.row], result.board_line[each.column]} == set(specimen.contact[each.id])
    return right, seen, presses, len(drawn)


def _insert(rng: random.Random, layout: Layout) -> dict[str, int]:
    """Tails in sockets as a person may insert them: right, reversed, shifted by one, swapped."""
    assert layout.tails is not None
    sockets = [list(range(12)), list(range(12, 24))]
    first, second = layout.tails
    contacts = [sockets[0][: len(first.lines)], sockets[1][: len(second.lines)]]
    wanted = [list(first.lines), list(second.lines)]
    manner = rng.choice(("right", "reversed", "shifted", "swapped"))
    tail = rng.randrange(2)
    if manner == "reversed":
        wanted[tail].reverse()
    if manner == "swapped":
        wanted.reverse()
    by = rng.choice((-1, 1)) if manner == "shifted" else 0
    placed = {}
    for number, (lines, pins) in enumerate(zip(wanted, contacts, strict=True)):
        for index, line in enumerate(lines):
            spot = index + (by if number == tail else 0)
            if 0 <= spot < len(pins):
                placed[line] = pins[spot]
    return placed


def connect_once(rng: random.Random) -> tuple[bool, int]:
    """Whether the way the tails went in was named, and the presses it took."""
    specimen, layout = make_specimen(rng, rng.randint(5, 12), rng.randint(5, 12))
    assert layout.tails is not None
    first, second = layout.tails
    wiring = Wiring(
        {line: number for number, line in enumerate(first.lines)} | {line: 12 + n for n, line in enumerate(second.lines)}
    )
    placed = _insert(rng, layout)
    specimen.silent = {
        key.id for key in layout.keys if rng.random() < SILENT or key.row not in placed or key.column not in placed
    }
    for key in layout.keys:
        specimen.contact[key.id] = (placed.get(key.row or "", -1), placed.get(key.column or "", -1))
    connection = Connection(layout, wiring)
    while (asked := connection.next_key()) is not None and connection.presses < 20:
        connection.saw(asked, specimen.press(asked))
    settled = connection.settled
    return settled is not None and settled.board_line == placed, connection.presses


def wire_once(rng: random.Random) -> tuple[bool, float]:
    """Whether an arbitrary wiring was found whole, and presses for each line of the longer side."""
    rows, columns = rng.randint(4, 12), rng.randint(4, 12)
    specimen, layout = make_specimen(rng, rows, columns)
    specimen.way = "both"
    free = FreeWiring(layout)
    while (asked := free.next_key()) is not None and free.presses < 60:
        free.saw(asked, specimen.press(asked))
    truth: dict[str, int] = {}
    for key in layout.keys:
        truth[key.row or ""], truth[key.column or ""] = specimen.contact[key.id]
    return free.board_line == truth, free.presses / max(rows, columns)


def bench(runs: int, seed: int) -> Outcome:
    """All three, `runs` times each."""
    rng = random.Random(f"learn {seed}")
    results = [learn_once(rng) for _ in range(runs)]
    right, seen = sum(each[0] for each in results), sum(each[1] for each in results)
    presses = sum(each[2] for each in results) / sum(each[3] for each in results)
    connected = [connect_once(rng) for _ in range(runs)]
    soon = sum(named and presses <= 6 for named, presses in connected)
    wired = [wire_once(rng) for _ in range(runs)]
    ratio = statistics.mean(each[1] for each in wired)
    whole = sum(each[0] for each in wired)
    median = statistics.median(presses for _, presses in connected)
    return Outcome(
        bars=[
            at_least("keys mapped right", right, seen, 0.995),
            Bar("presses per key", presses, 1.2, "<="),
            at_least("way the tails went in, within 6 presses", soon, runs, 0.95),
            at_least("arbitrary wiring found whole", whole, runs, 0.95),
            Bar("arbitrary wiring: presses per line of the longer side", ratio, 1.5, "<="),
        ],
        table=[
            f"{runs} keyboards up to 12x12, a third with diodes; {SILENT:.0%} silent, {SLIP:.0%} slips, {MISSED:.0%} missed:",
            f"  keys right: {right} of {seen} ({right / seen:.4%}); presses per key: {presses:.3f}",
            f"  connection named: {sum(named for named, _ in connected)} of {runs}, median {median} presses",
            f"  arbitrary wiring: {whole} of {runs} whole, {ratio:.2f} presses per line of the longer side",
        ],
    )


if __name__ == "__main__":
    sys.exit(run_bench("learn", bench, runs=300))
