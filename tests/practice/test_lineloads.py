"""The membrane as resistances between board lines reads like the membrane itself."""

from __future__ import annotations

import math

import pytest

from tailwise.circuit.network import Network
from tailwise.practice.bench import Bench
from tailwise.practice.catalogue import find_scenario
from tailwise.practice.lineloads import line_loads
from tailwise.practice.membrane import Readings


def readings(loads: dict[tuple[int, int], float], bench: Bench) -> Readings:
    """What a board with the usual inputs reads of resistances between its lines."""
    inputs = bench.setup.inputs
    lines = sorted({line for pair in loads for line in pair})
    found: Readings = {}
    for driven in lines:
        network = Network()
        for line in lines:
            network.resistor(("pin", line), line, inputs.series_ohm)
            low = line == driven
            network.source(
                ("pin", line), inputs.driver_v if low else inputs.supply_v, inputs.driver_ohm if low else inputs.pullup_ohm
            )
        for (a, b), ohm in loads.items():
            network.resistor(a, b, ohm)
        volts = network.solve()
        low_lines = sum(1 << line for line in lines if line != driven and volts[("pin", line)] <= inputs.vil_v)
        if low_lines:
            found[driven] = low_lines
    return found


@pytest.mark.parametrize("name", ["coming-and-going-column", "shorted-lines", "leaking-lines"])
def test_loads_give_the_readings_of_the_membrane(name: str) -> None:
    setup = find_scenario(name).setup
    bench = Bench(setup)
    by_time: dict[int, list[tuple[tuple[int, int], float]]] = {}
    for load in line_loads(setup):
        by_time.setdefault(load.at_us, []).append(((load.a, load.b), load.ohm))
    loads: dict[tuple[int, int], float] = {}
    compared = 0
    times = sorted({change.at_us for change in bench.changes})
    changes = {at: [change for change in bench.changes if change.at_us == at] for at in times}
    for at in times:
        for change in changes[at]:
            bench.membrane.apply(change)
        for pair, ohm in by_time.get(at, ()):
            loads[pair] = ohm
        present = {pair: ohm for pair, ohm in loads.items() if not math.isinf(ohm)}
        if at % 7 == 0:
            assert readings(present, bench) == bench.membrane.readings()
            compared += 1
    assert compared > 50


def test_a_diode_lets_one_line_pull_only() -> None:
    loads = list(line_loads(find_scenario("sound-10x8").setup))
    rows = range(10)
    assert loads and all(load.puller in rows for load in loads if not math.isinf(load.ohm))
