"""The virtual membrane: two sheets of printed lines, contacts, faults, and how its tails sit in the sockets.

Theory. Every line is a tree of trace stretches from its tail through its crosspoints (the layout's routes; without a route
all crosspoints hang on the tail). A pressed key joins the nodes of its two crosspoints. With one board line driven low and
the others under pull-up, the circuit room's solver gives the volts at each pin, and a pin reads low at V_IL or less.
Everything follows from that: a broken stretch loses the keys beyond it, two keys held on a line whose tail is open
join their partner lines through the film, three corners of a rectangle show the fourth.
Units: ohms, volts, millimetres. Trace resistance 0.1 ohm/mm is common practice for printed silver of 1 mm width.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from tailwise.circuit.inputs import REFERENCE_INPUTS, Inputs
from tailwise.circuit.network import Network, Node
from tailwise.model.layout import Layout
from tailwise.practice.slots import OPEN, Bridge, Change, Contact, Slot, Stretch, at_rest

TRACE_OHM_PER_MM = 0.1
UNKNOWN_STRETCH_MM = 40.0
CONTACT_OHM = 30.0
_LEAST_OHM = 0.01

Readings = dict[int, int]
"""Driven board line -> bitmap of the board lines that read low; lines that read none are absent."""


@dataclass(frozen=True, slots=True)
class Foreign:
    """A voltage from outside on a line: volts behind ohms."""

    line: str
    volts: float
    ohm: float = 1000.0


@dataclass
class Membrane:
    """A membrane plugged into a harness.

    seat: board line -> line of this membrane at that socket contact (absent: nothing there). diodes: name of a line or
    key that has a diode -> its condition, where it is not sound: open, shorted or reversed.
    """

    layout: Layout
    seat: dict[int, str]
    inputs: Inputs = REFERENCE_INPUTS
    foreign: tuple[Foreign, ...] = ()
    diodes: dict[str, str] = field(default_factory=dict)
    ohm_per_mm: float = TRACE_OHM_PER_MM
    values: dict[Slot, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._board_lines = {line: number for number, line in self.seat.items()}
        self._paths = {line: self._tree(line) for line in self.layout.lines}
        self._diode_of = {each.line or each.key: each for each in self.layout.diodes}
        self._known: dict[frozenset[tuple[Slot, float]], Readings] = {}

    def _tree(self, line: str) -> dict[str, tuple[str | None, float]]:
        """Key on the line -> the stop before it (None: the tail) and the ohms of the stretch between."""
        stops: dict[str, tuple[str | None, float]] = {}
        route = (self.layout.routes or {}).get(line, ())
        for stop in route:
            mm = UNKNOWN_STRETCH_MM if stop.mm is None else stop.mm
            stops[stop.key] = (stop.origin, max(_LEAST_OHM, mm * self.ohm_per_mm))
        for key in self.layout.keys_on[line]:
            if key not in stops:
                twin = self._twin(key, line, stops)
                stops[key] = (None, UNKNOWN_STRETCH_MM * self.ohm_per_mm) if twin is None else (twin, _LEAST_OHM)
        return stops

    def _twin(self, key: str, line: str, stops: dict[str, tuple[str | None, float]]) -> str | None:
        """A key already on the route that shares a crosspoint of this line with the key."""
        for point in self.layout.key_by_id[key].crosspoints:
            for other in self.layout.keys_at[frozenset(point)]:
                if line in point and other in stops:
                    return other
        return None

    def apply(self, change: Change) -> bool:
        """Take a change; False where it changes nothing."""
        if self.values.get(change.slot, at_rest(change.slot)) == change.ohm:
            return False
        if change.ohm == at_rest(change.slot):
            self.values.pop(change.slot, None)
        else:
            self.values[change.slot] = change.ohm
        return True

    def readings(self) -> Readings:
        """What each driven board line makes read low, every board line being driven in turn and sensed in all others."""
        key = frozenset(self.values.items())
        if key not in self._known:
            found: Readings = {}
            for group in self.groups():
                for driven, volts in self.levels(group).items():
                    low = sum(1 << pin for pin, level in volts.items() if pin != driven and level <= self.inputs.vil_v)
                    if low:
                        found[driven] = low
            self._known[key] = found
        return self._known[key]

    def joins(self) -> list[tuple[str, str]]:
        """Pairs of lines that something joins at present: pressed contacts and bridges."""
        pairs = []
        for slot, ohm in self.values.items():
            if math.isinf(ohm):
                continue
            if isinstance(slot, Contact):
                pairs += list(self.layout.key_by_id[slot.key].crosspoints)
            elif isinstance(slot, Bridge):
                pairs.append((slot.line, slot.other))
        return pairs

    def groups(self) -> list[frozenset[str]]:
        """Groups of two or more lines that hang together."""
        groups: dict[str, set[str]] = {}
        for one, other in self.joins():
            merged = groups.get(one, {one}) | groups.get(other, {other})
            for line in merged:
                groups[line] = merged
        return sorted({frozenset(each) for each in groups.values()}, key=sorted)

    def levels(self, group: frozenset[str]) -> dict[int, dict[int, float]]:
        """Driven board line -> volts at the pins of the group's board lines."""
        pins = sorted(self._board_lines[line] for line in group if line in self._board_lines)
        result: dict[int, dict[int, float]] = {}
        for driven in pins:
            network = self.network(group)
            inputs = self.inputs
            for pin in pins:
                if pin == driven:
                    network.source(("pin", pin), inputs.driver_v, inputs.driver_ohm)
                else:
                    network.source(("pin", pin), inputs.supply_v, inputs.pullup_ohm)
            volts = network.solve()
            result[driven] = {pin: volts[("pin", pin)] for pin in pins}
        return result

    def network(self, group: frozenset[str]) -> Network:
        """The parts of these lines from the pins inwards, pins without their sources."""
        network = Network()
        for line in sorted(group):
            self._lay_line(network, line)
        for slot, ohm in self.values.items():
            if math.isinf(ohm):
                continue
            if isinstance(slot, Bridge) and slot.line in group:
                network.resistor((slot.line, None), (slot.other, None), max(ohm, _LEAST_OHM))
            elif isinstance(slot, Contact):
                for row, column in self.layout.key_by_id[slot.key].crosspoints:
                    if row in group:
                        self._close(network, slot.key, (row, slot.key), (column, slot.key), max(ohm, _LEAST_OHM))
        for each in self.foreign:
            if each.line in group:
                network.source((each.line, None), each.volts, each.ohm)
        return network

    def _lay_line(self, network: Network, line: str) -> None:
        network.node((line, None))
        pin = self._board_lines.get(line)
        if pin is not None:
            ohm = self.inputs.series_ohm + self.values.get(Stretch(line), 0.0)
            network.node(("pin", pin))
            self._lead(network, line, ("pin", pin), ohm)
        wanted = [slot.key for slot, ohm in self.values.items() if isinstance(slot, Contact) and not math.isinf(ohm)]
        stops = self._paths[line]
        laid: set[str] = set()
        for key in wanted:
            at: str | None = key if key in stops else None
            while at is not None and at not in laid:
                laid.add(at)
                before, ohm = stops[at]
                network.resistor((line, before), (line, at), ohm + self.values.get(Stretch(line, at), 0.0))
                at = before

    def _lead(self, network: Network, line: str, pin: Node, ohm: float) -> None:
        """From the pin to the tail end of the line, through the line's diode where it has one."""
        diode = self._diode_of.get(line)
        if diode is None or diode.line is None:
            network.resistor(pin, (line, None), ohm)
            return
        network.resistor(pin, ("lead", line), ohm)
        out = diode.conducts == "to_tail"
        self._diode(network, line, (line, None) if out else ("lead", line), ("lead", line) if out else (line, None))

    def _close(self, network: Network, key: str, row: Node, column: Node, ohm: float) -> None:
        """A closed contact, through the key's diode where it has one."""
        diode = self._diode_of.get(key)
        if diode is None or diode.key is None:
            network.resistor(row, column, ohm)
            return
        anode, cathode = (column, row) if diode.conducts == "row" else (row, column)
        network.resistor(anode, ("contact", key), ohm)
        self._diode(network, key, ("contact", key), cathode)

    def _diode(self, network: Network, name: str, anode: Node, cathode: Node) -> None:
        condition = self.diodes.get(name, "sound")
        if condition == "shorted":
            network.resistor(anode, cathode, _LEAST_OHM)
        elif condition == "open":
            network.resistor(anode, cathode, OPEN)
        elif condition == "reversed":
            network.diode(cathode, anode)
        else:
            network.diode(anode, cathode)
