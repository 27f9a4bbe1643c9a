"""Steps to a verdict: the engine's next press against the fixed order of the layout, and the time of one inference.

A press is simulated by walking the routes (no bytes: what is compared is the order of presses). Both orders start with the
first silent key; counted is how many presses follow until the fault is accused as it is once everything was pressed.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from random import Random

from tailwise.diagnose.engine import diagnose
from tailwise.diagnose.guide import next_presses
from tailwise.layoutfile.library import find_layout
from tailwise.model.fault import Fault
from tailwise.model.layout import Key, KeyboardKind, Layout, Position, RouteStop, Tail
from tailwise.model.observation import Attempt, AttemptResult, Observations, Press
from tests.bench.diagnosis_classes import broken_trace, cracked_tail, dead_contact, open_line
from tests.bench.diagnosis_truth import line_fault, silenced

PRESS_US = 350_000
RETRIES = 2
SPEED_RUNS = 7


class Walk:
    """Presses made one by one on a membrane with some silent keys."""

    def __init__(self, layout: Layout, lost: frozenset[str]) -> None:
        self.layout = layout
        self.lost = lost
        self.count = 0
        self._presses: list[Press] = []
        self._attempts: list[Attempt] = []
        self._at = 2_500_000

    def press(self, key: str) -> bool:
        """Press a key once; True where it closed."""
        closed = key not in self.lost
        result = AttemptResult.SEEN if closed else AttemptResult.SILENT
        self._attempts.append(Attempt(key, self._at, self._at + PRESS_US, result))
        if closed:
            self._presses.append(Press(key, self._at, self._at + 116_000))
        self._at += PRESS_US
        self.count += 1
        return closed

    def observations(self) -> Observations:
        """What was seen so far."""
        closures = {("", ""): 1} if self._presses else {}
        return Observations(
            self.layout, tuple(self._presses), attempts=tuple(self._attempts), closures=closures, started=True,
            rest_done=True, end_us=self._at,
        )  # fmt: skip


def steps_to_verdict(layout: Layout, fault: Fault) -> tuple[int, int]:
    """Presses after the first silent one until the final verdict stands: guided, fixed."""
    lost = silenced(layout, (fault,))
    whole = Walk(layout, lost)
    for key in layout.keys:
        for _ in range(1 if key.id not in lost else RETRIES + 1):
            whole.press(key.id)
    final = {each.fault for each in diagnose(whole.observations())}
    return _guided(layout, lost, final), _fixed(layout, lost, final)


def _guided(layout: Layout, lost: frozenset[str], final: set[Fault]) -> int:
    walk, first = _to_first_silence(layout, lost)
    while {each.fault for each in diagnose(walk.observations())} != final:
        steps = next_presses(walk.observations(), most=1)
        if not steps:
            break
        walk.press(steps[0].keys[0])
    return walk.count - first


def _fixed(layout: Layout, lost: frozenset[str], final: set[Fault]) -> int:
    walk, first = _to_first_silence(layout, lost)
    order = [key.id for key in layout.keys]
    start = next(place for place, key in enumerate(order) if key in lost)
    rest = [order[start]] * RETRIES + [key for key in order[start + 1 :] for _ in range(1 if key not in lost else RETRIES + 1)]
    for key in rest:
        if {each.fault for each in diagnose(walk.observations())} == final:
            break
        walk.press(key)
    return walk.count - first


def _to_first_silence(layout: Layout, lost: frozenset[str]) -> tuple[Walk, int]:
    walk = Walk(layout, lost)
    for key in layout.keys:
        if not walk.press(key.id):
            break
    return walk, walk.count


def compare_orders(runs: int, seed: int, names: Iterable[str]) -> tuple[int, int]:
    """Presses of all runs: guided, fixed."""
    chance = Random(f"guided {seed}")
    layouts = [find_layout(name) for name in names]
    guided = fixed = 0
    for run in range(runs):
        layout = layouts[run % len(layouts)]
        plant = (open_line, broken_trace, dead_contact, cracked_tail)[run % 4]
        one, other = steps_to_verdict(layout, plant(layout, chance).fault)
        guided += one
        fixed += other
    return guided, fixed


def inference_ms() -> float:
    """Median processor time of one inference on 16x8 with two open lines, milliseconds."""
    layout = big_layout()
    walk = Walk(layout, silenced(layout, (line_fault(layout, "R5"), line_fault(layout, "C3"))))
    for key in layout.keys:
        for _ in range(1 if key.id not in walk.lost else RETRIES + 1):
            walk.press(key.id)
    observations = walk.observations()
    times = []
    for _ in range(SPEED_RUNS):
        begin = time.process_time()
        diagnose(observations)
        times.append((time.process_time() - begin) * 1000)
    return sorted(times)[SPEED_RUNS // 2]


def big_layout() -> Layout:
    """A full matrix of 16 rows and 8 columns with chains for routes."""
    rows, columns = tuple(f"R{place}" for place in range(16)), tuple(f"C{place}" for place in range(8))
    keys = tuple(
        Key(f"{row}{column}", "", row, column, Position(place, number))
        for number, row in enumerate(rows)
        for place, column in enumerate(columns)
    )
    routes = {}
    for line in rows + columns:
        on_line = [key.id for key in keys if line in (key.row, key.column)]
        routes[line] = tuple(
            RouteStop(key, None if place == 0 else on_line[place - 1], 20.0) for place, key in enumerate(on_line)
        )
    tails = (Tail("J1", rows), Tail("J2", columns))
    return Layout("big-16x8", "", KeyboardKind.FILM, rows, columns, keys, tails=tails, routes=routes)
