"""A silicon diode: current and voltage.

Theory. Shockley junction with emission coefficient N and a series resistance: I = Is * (exp(Vj / (N * Vt)) - 1),
V = Vj + I * Rs, Vt = kT/q = 25.852 mV at 300 K. Units: amperes, volts, ohms. The 1N4148 parameters are those of its
published simulation model: Is 2.52 nA, N 1.752, Rs 0.568 ohm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

THERMAL_V = 0.025852
"""kT/q at 300 K, volts."""


@dataclass(frozen=True, slots=True)
class DiodeModel:
    """Junction parameters: saturation current in A, emission coefficient, series resistance in ohms."""

    saturation_a: float
    emission: float
    series_ohm: float

    @property
    def slope_v(self) -> float:
        """N * Vt, volts."""
        return self.emission * THERMAL_V

    @property
    def critical_v(self) -> float:
        """The junction voltage above which a Newton step is shortened (where the curve bends most), volts."""
        return self.slope_v * math.log(self.slope_v / (math.sqrt(2.0) * self.saturation_a))

    def forward_v(self, ampere: float) -> float:
        """Volts across the whole diode at a forward current."""
        return self.slope_v * math.log1p(ampere / self.saturation_a) + ampere * self.series_ohm

    def junction(self, volts: float) -> tuple[float, float]:
        """Current in A and its derivative in S at a junction voltage."""
        grown = math.exp(min(volts / self.slope_v, 200.0))
        return self.saturation_a * (grown - 1.0), self.saturation_a * grown / self.slope_v


D1N4148 = DiodeModel(2.52e-9, 1.752, 0.568)
"""The small-signal diode of most keyboards."""
