"""Watching one or two pairs of lines without pause.

Theory. The driven lines of the pairs are low all the time and each sensed line hangs on its pull-up, all other lines on
nothing. When a loop opens, the sensed line rises through its pull-up and reads open after R * C * ln(Vcc / (Vcc - V_th)):
an opening shorter than that is never seen, and every opening seen begins so much later than the contact opened. The polling
reads every microsecond, so nothing else is missed. Times are microseconds of the bench, resistances ohms.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from tailwise.circuit.inputs import Inputs
from tailwise.circuit.settling import rise_time_s
from tailwise.practice.membrane import Membrane

POLL_US = 1
LINE_F = 150e-12
"""Capacitance of a sensed line with its lead and a length of film (common practice: under 150 pF)."""
SWITCHED_OHM = 10_000.0


@dataclass(frozen=True, slots=True)
class Watch:
    """What SET_WATCH chose: (sensed, driven) board lines, and whether the pull-up is the switched one."""

    pairs: tuple[tuple[int, int], ...]
    switched: bool

    @property
    def lines(self) -> tuple[int, ...]:
        """Every line that takes part."""
        return tuple(sorted({line for pair in self.pairs for line in pair}))


@dataclass(frozen=True, slots=True)
class Opened:
    """An opening of a pair that has ended."""

    pair: int
    start_us: int
    length_us: int


@dataclass
class _Pair:
    closed: bool = False
    opens_us: int | None = None
    openings: int = 0
    open_us: int = 0


@dataclass
class Watcher:
    """One watch, from its start on."""

    watch: Watch
    membrane: Membrane
    start_us: int
    pairs: list[_Pair] = field(default_factory=list)

    def __post_init__(self) -> None:
        inputs = self.membrane.inputs
        self._pull_up_ohm = SWITCHED_OHM if self.watch.switched else inputs.pullup_ohm
        rise_s = rise_time_s(self._pull_up_ohm, LINE_F, inputs.supply_v, inputs.vih_v)
        self._rise_us = -(-round(rise_s * 1e9) // 1000)
        self.pairs = [_Pair(closed) for closed in self._closed()]

    def change(self, at_us: int) -> list[Opened]:
        """The membrane is otherwise from now on; the openings that ended by it."""
        ended = []
        for index, (pair, closed) in enumerate(zip(self.pairs, self._closed(), strict=True)):
            began = None if pair.opens_us is None else pair.opens_us + self._rise_us
            if not closed and pair.closed:
                pair.opens_us = at_us
            elif closed and not pair.closed and began is not None:
                if began <= at_us:
                    pair.openings += 1
                    pair.open_us += at_us - began
                    ended.append(Opened(index, began, at_us - began))
                pair.opens_us = None
            pair.closed = closed
        return ended

    def closed_bits(self, at_us: int) -> int:
        """Bit i: pair i reads closed, a line still rising included."""
        return sum(
            1 << index
            for index, pair in enumerate(self.pairs)
            if pair.closed or (pair.opens_us is not None and at_us < pair.opens_us + self._rise_us)
        )

    def _closed(self) -> list[bool]:
        sensed = {pair[0] for pair in self.watch.pairs}
        driven = {pair[1] for pair in self.watch.pairs}
        volts = watched_levels(self.membrane, sensed, driven, self._pull_up_ohm)
        return [volts[pair[0]] <= self.membrane.inputs.vil_v for pair in self.watch.pairs]


def watched_levels(membrane: Membrane, sensed: set[int], driven: set[int], pull_up_ohm: float) -> dict[int, float]:
    """Volts at the sensed board lines while all driven ones are low and no other line has a pull-up."""
    inputs: Inputs = membrane.inputs
    volts = dict.fromkeys(sensed, inputs.supply_v)
    for group in membrane.groups():
        pins = {pin for pin, line in membrane.seat.items() if line in group}
        if not pins & sensed or not pins & driven:
            continue
        network = membrane.network(group)
        for pin in sorted(pins & driven):
            network.source(("pin", pin), inputs.driver_v, inputs.driver_ohm)
        for pin in sorted(pins & sensed):
            network.source(("pin", pin), inputs.supply_v, pull_up_ohm)
        solved = network.solve()
        volts |= {pin: solved[("pin", pin)] for pin in pins & sensed}
    return volts
