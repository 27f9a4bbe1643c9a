"""What a pulled-up digital input sees of a closed loop.

Theory. A sensed line hangs on Vcc through R_pull; the closed loop of R ohm leads to a driver at V_low, perhaps through a
diode that drops V_diode. The input stands at V = V_low + V_diode + (Vcc - V_low - V_diode) * R / (R + R_pull) and reads
low while V <= V_IL, which gives the largest loop still read low:

    R_max = R_pull * (V_IL - V_low - V_diode) / (Vcc - V_IL)

An input of capacitance C rises through R as Vcc * (1 - exp(-t / RC)) and reaches V_th after RC * ln(Vcc / (Vcc - V_th)).
Units: volts, ohms, farads, seconds. Common practice; the input levels come from the makers' data sheets.
"""

from __future__ import annotations

import math

from tailwise.model.layout import Target


def largest_loop_ohm(pullup_ohm: float, supply_v: float, vil_v: float, driver_v: float = 0.0, diode_v: float = 0.0) -> float:
    """Largest loop resistance in ohms still read low; 0 where no loop at all can be read.

    ValueError where vil_v is not below supply_v or the pull-up is not positive.
    """
    if pullup_ohm <= 0 or vil_v >= supply_v:
        raise ValueError(f"no threshold for a pull-up of {pullup_ohm} ohm and V_IL {vil_v} V at {supply_v} V")
    return max(0.0, pullup_ohm * (vil_v - driver_v - diode_v) / (supply_v - vil_v))


def target_limit_ohm(target: Target) -> float:
    """Largest loop in ohms that the real computer behind the sockets still reads as a pressed key."""
    return largest_loop_ohm(target.pullup_ohm, target.supply_v, target.vil_v, target.vol_v, target.diode_v)


def target_margin(target: Target, loop_ohm: float) -> float:
    """How far a loop stays under the target's limit: limit / loop; below 1 the computer misses the key.

    Infinite for a loop of 0 ohm.
    """
    limit = target_limit_ohm(target)
    return math.inf if loop_ohm <= 0 else limit / loop_ohm


def input_level_v(loop_ohm: float, pullup_ohm: float, supply_v: float, driver_v: float = 0.0, diode_v: float = 0.0) -> float:
    """Volts at the sensed input for a loop of that many ohms (infinite: open)."""
    if math.isinf(loop_ohm):
        return supply_v
    low = driver_v + diode_v
    return low + (supply_v - low) * loop_ohm / (loop_ohm + pullup_ohm)
