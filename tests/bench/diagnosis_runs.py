"""One benchmark run: the practice bench's bytes, through a host that only listens, into observations.

Readings come from the circuit model; in the runs that ask for it ngspice works out every state of the membrane instead.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from pathlib import Path
from random import Random

from tailwise.circuit.network import Network, Node
from tailwise.harness.wiring import plain_wiring
from tailwise.link.base import LinkEnded
from tailwise.model.layout import Layout
from tailwise.model.mark import Deed
from tailwise.model.observation import Observations
from tailwise.observe.observer import Observer
from tailwise.practice.bench import Bench, BenchLink, Setup
from tailwise.practice.membrane import Membrane, Readings
from tailwise.practice.noise import Noise
from tailwise.practice.operator import Finger, Habits, Operator, Press, Step
from tailwise.practice.planted import Planted
from tailwise.practice.slots import Slot
from tailwise.recording.format import Marked, Received, Sent
from tailwise.wire.frames import encode
from tailwise.wire.messages import Alive, Command, Hello, SetLines, SetScan, Start, Stop
from tests.circuit.spice import solve_with_ngspice

HANDS = Habits(miss=0.01, double=0.01, slip=0.002)
LOSS = Noise(lost=0.001)
MARKING = frozenset({Deed.PRESS, Deed.HOLD, Deed.RELEASE, Deed.FLEX, Deed.STILL})
SCANNED = 3
RETRIES = 3


@dataclass(frozen=True)
class Played:
    """What a run showed, and what the operator's fingers really did."""

    observations: Observations
    fingers: tuple[Finger, ...]
    bench: Bench


def walk(layout: Layout, dead: frozenset[str], seed: int) -> tuple[Step, ...]:
    """Every key once, then three times more each one that stayed silent: missed by the hand, or dead."""
    first = Press()
    hand = Operator(layout, Random(f"{seed} operator"), HANDS).perform((first,))
    touched = {finger.key for finger in hand.fingers}
    again = tuple(key.id for key in layout.keys if key.crosspoints and (key.id in dead or key.id not in touched))
    return (first, Press(again, times=RETRIES)) if again else (first,)


def play(
    layout: Layout, planted: Iterable[Planted], script: tuple[Step, ...], seed: int, *, spice: bool = False,
    real_layout: Layout | None = None,
) -> Played:  # fmt: skip
    """Play a script on a membrane with planted faults and observe it."""
    setup = Setup(layout, script, tuple(planted), seed, real_layout=real_layout, habits=HANDS, marking=MARKING, noise=LOSS)
    bench = Bench(setup)
    if spice:
        know_by_ngspice(bench)
    observer = Observer(layout, plain_wiring(layout))
    _listen(BenchLink(bench), observer, len(layout.lines))
    return Played(observer.observations(), tuple(bench.performance.fingers), bench)


def _listen(link: BenchLink, observer: Observer, lines: int) -> None:
    number = 0

    def tell(command: Command) -> None:
        nonlocal number
        data = encode(command, number)
        number += 1
        link.write(data)
        observer.feed(Sent(link.now_us(), data))

    def hear(seconds: float) -> None:
        until = link.now_us() + round(seconds * 1e6)
        while link.now_us() < until:
            data = link.read((until - link.now_us()) / 1e6)
            if data:
                observer.feed(Received(link.now_us(), data))
            for mark in link.take_marks():
                observer.feed(Marked(link.now_us(), mark))

    observer.feed(Sent(0, b"\0"))
    hear(0.5)
    for command in (Hello(1, 1), Stop(), SetLines(bytes([SCANNED] * lines)), SetScan(0, 0), Start(0)):
        tell(command)
        hear(0.05)
    try:
        while True:
            hear(0.5)
            tell(Alive())
    except LinkEnded:
        return


class ToldMembrane(Membrane):
    """A membrane whose readings somebody else has worked out beforehand."""

    told: dict[frozenset[tuple[Slot, float]], Readings]

    def readings(self) -> Readings:
        return self.told[frozenset(self.values.items())]


def know_by_ngspice(bench: Bench) -> None:
    """Fill the membrane's memory of readings with what ngspice says of every state the run goes through."""
    membrane = replace(bench.membrane, values=dict(bench.membrane.values))
    met = {frozenset(membrane.values.items()): dict(membrane.values)}
    for change in bench.changes:
        if membrane.apply(change):
            met.setdefault(frozenset(membrane.values.items()), dict(membrane.values))
    states = list(met.values())
    networks: list[Network] = []
    places: list[tuple[int, int]] = []
    for index, values in enumerate(states):
        for driven, network in _driven_networks(replace(membrane, values=values)):
            networks.append(network)
            places.append((index, driven))
    readings: list[dict[int, int]] = [{} for _ in states]
    with tempfile.TemporaryDirectory() as folder:
        solved = solve_with_ngspice(networks, Path(folder), _is_pin) if networks else []
    for (index, driven), volts in zip(places, solved, strict=True):
        low = sum(1 << pin for (_, pin), level in _pins(volts) if pin != driven and level <= membrane.inputs.vil_v)
        if low:
            readings[index][driven] = low
    known = ToldMembrane(**{each.name: getattr(bench.membrane, each.name) for each in fields(Membrane)})
    known.told = dict(zip(met, readings, strict=True))
    bench.membrane = known


def _is_pin(node: Node) -> bool:
    return isinstance(node, tuple) and len(node) == 2 and node[0] == "pin"


def _pins(volts: dict[Node, float]) -> list[tuple[tuple[str, int], float]]:
    return [((str(node[0]), int(node[1])), level) for node, level in volts.items() if isinstance(node, tuple)]


def _driven_networks(membrane: Membrane) -> list[tuple[int, Network]]:
    board_line = {line: number for number, line in membrane.seat.items()}
    inputs = membrane.inputs
    found = []
    for group in membrane.groups():
        pins = sorted(board_line[line] for line in group if line in board_line)
        for driven in pins:
            network = membrane.network(group)
            for pin in pins:
                if pin == driven:
                    network.source(("pin", pin), inputs.driver_v, inputs.driver_ohm)
                else:
                    network.source(("pin", pin), inputs.supply_v, inputs.pullup_ohm)
            found.append((driven, network))
    return found
