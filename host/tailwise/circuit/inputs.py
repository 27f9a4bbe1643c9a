"""The harness end of a loop: what drives a line low and what senses the others.

Theory. Each board line runs from its pin through a series resistor to the socket. A driven pin is a source of V_low
behind its own resistance; a sensed pin hangs on Vcc through its pull-up and reads low at V_IL and below. With the series
resistors of both ends, the largest loop outside the harness still read low is
R_pull * (V_IL - V_low) / (Vcc - V_IL) less both series resistors and the driver (see levels). Default values are those
of the reference board: pull-up 20-50 kohm, V_IL 0.3 Vcc (maker's data sheet), 220 ohm in series.
"""

from __future__ import annotations

from dataclasses import dataclass

from tailwise.circuit.levels import largest_loop_ohm


@dataclass(frozen=True, slots=True)
class Inputs:
    """Volts and ohms of a harness board's pins."""

    supply_v: float = 5.0
    pullup_ohm: float = 35e3
    vil_v: float = 1.5
    vih_v: float = 3.0
    driver_v: float = 0.0
    driver_ohm: float = 25.0
    series_ohm: float = 220.0

    @property
    def largest_loop_ohm(self) -> float:
        """Largest resistance between two socket contacts still read as closed, one line sensed."""
        whole = largest_loop_ohm(self.pullup_ohm, self.supply_v, self.vil_v, self.driver_v)
        return whole - 2 * self.series_ohm - self.driver_ohm


REFERENCE_INPUTS = Inputs()
"""The reference board, typical values."""
