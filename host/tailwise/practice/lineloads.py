"""The membrane as other boards see it: resistances between their lines, changing with time.

A simulated board that runs real firmware has its own pull-ups and pins and needs only what hangs between its lines. Every
state of the membrane is reduced (star to mesh) to the resistances between socket contacts; a line with a diode lets
only one of the two pull the other low. Ohms; microseconds of run time, below 0 for what stands from the start.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from tailwise.circuit.network import Node, reduced
from tailwise.practice.membrane import Membrane
from tailwise.practice.slots import OPEN
from tailwise.practice.virtual import Bench, Setup

_BARE_OHM = 0.01
_DIODE_OHM = 1.0


@dataclass(frozen=True, slots=True)
class LineLoad:
    """From `at_us` on, `ohm` between two board lines a < b (infinite: nothing). puller: the only one of the two that
    can pull the other low, None where both can."""

    at_us: int
    a: int
    b: int
    ohm: float
    puller: int | None = None


Mesh = dict[tuple[int, int], tuple[float, int | None]]


def line_loads(setup: Setup) -> Iterator[LineLoad]:
    """Every change between any two board lines of a setup, in order of time.

    ValueError for keyboards with a diode at each key: those are no resistances between lines.
    """
    if any(diode.key is not None for diode in setup.layout.diodes):
        raise ValueError(f"{setup.layout.id} has diodes at its keys: its readings are not resistances between lines")
    bench = Bench(replace(setup, inputs=replace(setup.inputs, series_ohm=_BARE_OHM)))
    membrane = bench.membrane
    last: Mesh = {}
    yield from _differences(-1, last, last := _mesh(membrane))
    for change in bench.changes:
        if change.at_us >= 0 and membrane.apply(change):
            yield from _differences(change.at_us, last, last := _mesh(membrane))


def _differences(at_us: int, before: Mesh, after: Mesh) -> list[LineLoad]:
    pairs = sorted(set(before) | set(after))
    return [LineLoad(at_us, *pair, *after.get(pair, (OPEN, None))) for pair in pairs if before.get(pair) != after.get(pair)]


def _mesh(membrane: Membrane) -> Mesh:
    mesh: Mesh = {}
    blocked = {pin: _conducts(membrane, line) for pin, line in membrane.seat.items()}
    for group in membrane.groups():
        network = membrane.network(group)
        for anode, cathode, _ in network.diodes:
            network.resistor(anode, cathode, _DIODE_OHM)
        pins: dict[Node, int] = {("pin", pin): pin for pin, line in membrane.seat.items() if line in group}
        for (one, other), ohm in reduced(network, set(pins)).items():
            a, b = sorted((pins[one], pins[other]))
            pullers = [p for p, q in ((a, b), (b, a)) if blocked[p] != "from_tail" and blocked[q] != "to_tail"]
            if pullers:
                mesh[(a, b)] = (round(ohm, 6), None if len(pullers) == 2 else pullers[0])
    return mesh


def _conducts(membrane: Membrane, line: str) -> str | None:
    """Which way the line's diode lets current through; None for both."""
    diode = next((each for each in membrane.layout.diodes if each.line == line), None)
    condition = membrane.diodes.get(line, "sound")
    if diode is None or condition in ("shorted", "open"):
        return None
    flipped = {"to_tail": "from_tail", "from_tail": "to_tail"}
    return flipped[diode.conducts] if condition == "reversed" else diode.conducts
