"""A direct-current network of resistors, diodes and voltage sources, solved node by node.

Theory. Kirchhoff's current law at every node: sum of (v_n - v_m) / R = injected current. A source of V volts behind R
ohms injects V / R and adds 1 / R to the node's own conductance. The matrix is symmetric and positive definite, so the
nodes are eliminated one after another, fewest neighbours first (a membrane is nearly a forest, so this stays sparse),
and substituted back. A diode is linearised at its last junction voltage and solved again (Newton) until the
voltages stand still; large steps of the junction voltage are shortened, or the exponential runs away. Every node has
1e-12 S to ground (insulation), so that floating film has a voltage. Units: ohms, volts, siemens, amperes.
"""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass, field

from tailwise.circuit.diode import D1N4148, DiodeModel

INSULATION_S = 1e-12
_CLOSE_V = 1e-9
_LATE_CLOSE_V = 1e-5
"""Near a floating film rounding alone can move a junction by microvolts: late steps are halved and this is close enough."""
_MOST_STEPS = 200

Node = Hashable
Rows = dict[Node, dict[Node, float]]


class NetworkError(ArithmeticError):
    """A network whose voltages could not be found."""


@dataclass
class Network:
    """Parts between named nodes; ground is 0 V and has no name."""

    conductances: Rows = field(default_factory=dict)
    own: dict[Node, float] = field(default_factory=dict)
    injected: dict[Node, float] = field(default_factory=dict)
    diodes: list[tuple[Node, Node, DiodeModel]] = field(default_factory=list)

    def node(self, name: Node) -> None:
        """Make sure the node exists."""
        if name not in self.own:
            self.own[name] = INSULATION_S
            self.injected[name] = 0.0
            self.conductances[name] = {}

    def resistor(self, a: Node, b: Node, ohm: float) -> None:
        """Join two nodes; an infinite resistance joins nothing. ValueError for 0 ohm or less: give it one node."""
        self.node(a)
        self.node(b)
        if ohm <= 0:
            raise ValueError(f"a resistor of {ohm} ohm between {a} and {b}")
        if math.isinf(ohm) or a == b:
            return
        for one, other in ((a, b), (b, a)):
            row = self.conductances[one]
            row[other] = row.get(other, 0.0) + 1.0 / ohm
            self.own[one] += 1.0 / ohm

    def source(self, node: Node, volts: float, ohm: float) -> None:
        """A voltage behind a resistance, at a node."""
        self.node(node)
        self.own[node] += 1.0 / ohm
        self.injected[node] += volts / ohm

    def diode(self, anode: Node, cathode: Node, model: DiodeModel = D1N4148) -> None:
        """A diode; its series resistance gets a node of its own."""
        inner = ("junction", len(self.diodes))
        self.resistor(anode, inner, model.series_ohm)
        self.node(cathode)
        self.diodes.append((inner, cathode, model))

    def solve(self) -> dict[Node, float]:
        """Volts at every node; NetworkError where the diodes do not come to rest."""
        if not self.diodes:
            return solve_linear(self.conductances, self.own, self.injected)
        guess = [0.0 for _ in self.diodes]
        for step in range(_MOST_STEPS):
            late = step >= _MOST_STEPS // 2
            volts = self._linearised(guess)
            moved = 0.0
            for index, (anode, cathode, model) in enumerate(self.diodes):
                across = volts[anode] - volts[cathode]
                limited = _limited(across, guess[index], model)
                moved = max(moved, abs(limited - guess[index]))
                guess[index] = (limited + guess[index]) / 2 if late else limited
            if moved < (_LATE_CLOSE_V if late else _CLOSE_V):
                return volts
        raise NetworkError(f"{len(self.diodes)} diode(s) found no rest in {_MOST_STEPS} steps")

    def _linearised(self, guess: list[float]) -> dict[Node, float]:
        rows = {node: dict(row) for node, row in self.conductances.items()}
        own, injected = dict(self.own), dict(self.injected)
        for volts, (anode, cathode, model) in zip(guess, self.diodes, strict=True):
            ampere, siemens = model.junction(volts)
            siemens += INSULATION_S
            rest = ampere - siemens * volts
            rows[anode][cathode] = rows[anode].get(cathode, 0.0) + siemens
            rows[cathode][anode] = rows[cathode].get(anode, 0.0) + siemens
            own[anode] += siemens
            own[cathode] += siemens
            injected[anode] -= rest
            injected[cathode] += rest
        return solve_linear(rows, own, injected)


def _limited(wanted: float, last: float, model: DiodeModel) -> float:
    """A junction voltage no further from the last than the exponential bears (logarithmic step, common practice)."""
    slope = model.slope_v
    if wanted <= model.critical_v or abs(wanted - last) <= 2 * slope:
        return wanted
    if last <= 0:
        return slope * math.log(wanted / slope)
    grown = 1 + (wanted - last) / slope
    return last + slope * math.log(grown) if grown > 0 else model.critical_v


def solve_linear(rows: Rows, own: dict[Node, float], injected: dict[Node, float]) -> dict[Node, float]:
    """Volts of a resistive network: rows[n][m] conductance between nodes, own[n] all conductance at n."""
    work = {node: dict(row) for node, row in rows.items()}
    pivot, right = dict(own), dict(injected)
    order = _eliminate(work, pivot, right, set())
    volts: dict[Node, float] = {}
    for node, row in reversed(order):
        volts[node] = (right[node] + sum(siemens * volts[other] for other, siemens in row.items())) / pivot[node]
    return volts


def reduced(network: Network, keep: set[Node]) -> dict[tuple[Node, Node], float]:
    """Ohms between the kept nodes once all others are eliminated (star to mesh); pairs that stay unconnected are absent.

    Each pair stands once, in the order of `repr`. Diodes and sources are not part of it.
    """
    work = {node: dict(row) for node, row in network.conductances.items()}
    pivot = {node: sum(row.values()) or INSULATION_S for node, row in work.items()}
    _eliminate(work, pivot, dict.fromkeys(work, 0.0), keep)
    pairs: dict[tuple[Node, Node], float] = {}
    for node in sorted(keep & work.keys(), key=repr):
        for other, siemens in sorted(work[node].items(), key=lambda item: repr(item[0])):
            if siemens > INSULATION_S and repr(node) < repr(other):
                pairs[(node, other)] = 1.0 / siemens
    return pairs


def _eliminate(
    work: Rows, pivot: dict[Node, float], right: dict[Node, float], keep: set[Node]
) -> list[tuple[Node, dict[Node, float]]]:
    """Eliminate all nodes but `keep`, fewest neighbours first; each with the row it had when it went."""
    order: list[tuple[Node, dict[Node, float]]] = []
    waiting = [node for node in work if node not in keep]
    while waiting:
        node = min(waiting, key=lambda each: len(work[each]))
        waiting.remove(node)
        row = work.pop(node)
        diagonal = pivot[node]
        neighbours = list(row.items())
        for index, (one, siemens) in enumerate(neighbours):
            share = siemens / diagonal
            pivot[one] -= siemens * share
            right[one] += right[node] * share
            one_row = work[one]
            del one_row[node]
            for other, other_siemens in neighbours[index + 1 :]:
                grown = one_row.get(other, 0.0) + share * other_siemens
                one_row[other] = grown
                work[other][one] = grown
        order.append((node, row))
    return order
