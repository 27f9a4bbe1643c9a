"""The network solver against two others that know nothing of it: numpy on the nodal matrix, and ngspice."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tailwise.circuit.network import Network, NetworkError, reduced
from tests.circuit.random_networks import random_network
from tests.circuit.spice import solve_with_ngspice


def test_sixty_random_networks_agree_with_ngspice_to_one_percent(tmp_path: Path) -> None:
    networks = [random_network(seed, diodes=seed % 2 == 1) for seed in range(1000, 1060)]
    assert sum(1 for network in networks if network.diodes) >= 20
    for network, truth in zip(networks, solve_with_ngspice(networks, tmp_path), strict=True):
        assert network.solve() == pytest.approx(truth, rel=0.01, abs=1e-4)


def test_resistive_networks_agree_with_numpy() -> None:
    for seed in range(100):
        network = random_network(seed, diodes=False)
        order = list(network.own)
        place = {node: index for index, node in enumerate(order)}
        matrix = np.diag([network.own[node] for node in order])
        for node in order:
            for other, siemens in network.conductances[node].items():
                matrix[place[node], place[other]] -= siemens
        volts = np.linalg.solve(matrix, np.array([network.injected[node] for node in order]))
        assert network.solve() == pytest.approx({node: float(volts[place[node]]) for node in order}, rel=1e-6)


def test_a_divider_and_a_floating_node() -> None:
    network = Network()
    network.source("top", 5.0, 1000.0)
    network.source("top", 0.0, 1000.0)
    network.node("floating")
    assert network.solve() == pytest.approx({"top": 2.5, "floating": 0.0})


def test_a_resistance_of_nothing_is_refused_and_an_infinite_one_joins_nothing() -> None:
    network = Network()
    with pytest.raises(ValueError, match="0"):
        network.resistor("a", "b", 0.0)
    network.resistor("a", "b", float("inf"))
    assert network.conductances == {"a": {}, "b": {}}


def test_star_becomes_mesh() -> None:
    """Star of 1, 2 and 3 ohm: each pair of the mesh is the sum of products over the third (common practice)."""
    network = Network()
    for name, ohm in (("a", 1.0), ("b", 2.0), ("c", 3.0)):
        network.resistor(name, "middle", ohm)
    products = 1.0 * 2 + 2 * 3 + 3 * 1
    assert reduced(network, {"a", "b", "c"}) == pytest.approx(
        {("a", "b"): products / 3, ("a", "c"): products / 2, ("b", "c"): products / 1}
    )


def test_a_reversed_diode_blocks_and_a_forward_one_drops() -> None:
    for forward in (True, False):
        network = Network()
        network.source("line", 5.0, 10_000.0)
        network.source("driver", 0.0, 25.0)
        network.diode(*(("line", "driver") if forward else ("driver", "line")))
        volts = network.solve()["line"]
        assert (0.5 < volts < 0.62) if forward else volts == pytest.approx(5.0, abs=0.001)


def test_no_rest_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tailwise.circuit.network._MOST_STEPS", 1)
    network = Network()
    network.source("line", 5.0, 10_000.0)
    network.source("driver", 0.0, 25.0)
    network.diode("line", "driver")
    with pytest.raises(NetworkError, match="1 diode"):
        network.solve()
