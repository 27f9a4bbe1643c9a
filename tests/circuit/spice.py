"""Networks handed to ngspice, all in one run: an independent solver for the same parts."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path

from tailwise.circuit.diode import THERMAL_V
from tailwise.circuit.network import Network, Node

BOLTZMANN_OVER_CHARGE = 8.617333e-5
"""k/q in V/K (CODATA)."""
_VALUE = re.compile(r"^(n\d+_\d+) = (\S+)$", re.MULTILINE)


def solve_with_ngspice(
    networks: list[Network], folder: Path, wanted: Callable[[Node], bool] = lambda node: True
) -> list[dict[Node, float]]:
    """Volts at the wanted nodes of every network; the networks share nothing but ground."""
    celsius = THERMAL_V / BOLTZMANN_OVER_CHARGE - 273.15
    lines = ["networks of the test", f".options temp={celsius} tnom={celsius} reltol=1e-7 abstol=1e-14 gmin=1e-12"]
    names: list[dict[Node, str]] = []
    for index, network in enumerate(networks):
        name = {node: f"n{index}_{place}" for place, node in enumerate(network.own)}
        names.append(name)
        lines += _parts(network, name, index)
    lines += [".control", "set numdgt=12", "op"]
    lines += [f"let {text} = v({text})\nprint {text}" for name in names for node, text in name.items() if wanted(node)]
    lines += [".endc", ".end"]
    netlist = folder / "networks.cir"
    netlist.write_text("\n".join(lines) + "\n")
    out = subprocess.run(["ngspice", "-b", str(netlist)], capture_output=True, text=True, check=False)
    volts = {text: float(value) for text, value in _VALUE.findall(out.stdout)}
    assert volts, out.stdout + out.stderr
    return [{node: volts[text] for node, text in name.items() if wanted(node)} for name in names]


def _parts(network: Network, name: dict[Node, str], index: int) -> list[str]:
    """Netlist lines; a source behind a resistance becomes a current into the node and a resistor to ground."""
    lines = []
    order = list(network.own)
    for place, node in enumerate(order):
        row = network.conductances[node]
        for other, siemens in row.items():
            if order.index(other) > place:
                lines.append(f"R{index}_{place}_{order.index(other)} {name[node]} {name[other]} {1 / siemens!r}")
        ground = network.own[node] - sum(row.values())
        if ground > 0:
            lines.append(f"RG{index}_{place} {name[node]} 0 {1 / ground!r}")
        if network.injected[node]:
            lines.append(f"I{index}_{place} 0 {name[node]} dc {network.injected[node]!r}")
    for number, (anode, cathode, model) in enumerate(network.diodes):
        lines.append(f"D{index}_{number} {name[anode]} {name[cathode]} M{index}_{number}")
        lines.append(f".model M{index}_{number} D(is={model.saturation_a!r} n={model.emission!r})")
    return lines
