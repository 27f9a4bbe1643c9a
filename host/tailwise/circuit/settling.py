"""How long a line takes to reach a level.

Theory. C charged through R rises as v(t) = Vcc * (1 - exp(-t / RC)): it reaches the fraction f of Vcc after
t = RC * ln(1 / (1 - f)): 0.916 RC for 0.6 Vcc, 1.204 RC for 0.7 Vcc, 4.605 RC for 99 %. Units: ohms, farads, seconds.
A scan that samples sooner invents closures on the next line. Common practice.
"""

from __future__ import annotations

import math


def rise_time_s(ohm: float, farad: float, supply_v: float, threshold_v: float) -> float:
    """Seconds from 0 V to threshold_v through ohm onto farad; ValueError where the threshold is never reached."""
    if not 0 <= threshold_v < supply_v:
        raise ValueError(f"a line pulled up to {supply_v} V never reaches {threshold_v} V")
    return ohm * farad * math.log(supply_v / (supply_v - threshold_v))


def capacitance_f(ohm: float, seconds: float, supply_v: float, threshold_v: float) -> float:
    """The inverse: farads that take these seconds to rise to threshold_v through ohm."""
    if not 0 < threshold_v < supply_v or ohm <= 0:
        raise ValueError(f"no capacitance follows from {ohm} ohm and {threshold_v} V of {supply_v} V")
    return seconds / (ohm * math.log(supply_v / (supply_v - threshold_v)))
