"""Thresholds, diode drops and rise times against the published figures and their formulas."""

from __future__ import annotations

import math

import pytest

from tailwise.circuit.diode import D1N4148
from tailwise.circuit.inputs import REFERENCE_INPUTS
from tailwise.circuit.levels import input_level_v, largest_loop_ohm, target_limit_ohm, target_margin
from tailwise.circuit.settling import capacitance_f, rise_time_s
from tailwise.model.layout import Target


@pytest.mark.parametrize(
    ("pullup", "supply", "vil", "driver", "diode", "expected"),
    [
        # 0.3 Vcc input and 20-50 kohm pull-up of the ATmega640/1280/2560 data sheet
        (20e3, 5.0, 1.5, 0.0, 0.0, 8571.0),
        (50e3, 5.0, 1.5, 0.0, 0.0, 21429.0),
        (20e3, 5.0, 1.5, 0.0, 0.5, 5714.0),
        # TTL input level 0.8 V
        (10e3, 5.0, 0.8, 0.0, 0.0, 1905.0),
        (4.7e3, 5.0, 0.8, 0.0, 0.0, 895.0),
        (3.3e3, 5.0, 0.8, 0.0, 0.0, 629.0),
        (10e3, 5.0, 0.8, 0.0, 0.6, 476.0),
        # 6526 data sheet: port pull-up 3.1 kohm at least, V_OL 0.4 V
        (3.1e3, 5.0, 0.8, 0.4, 0.0, 295.0),
    ],
)
def test_largest_loop_still_read_low(
    pullup: float, supply: float, vil: float, driver: float, diode: float, expected: float
) -> None:
    limit = largest_loop_ohm(pullup, supply, vil, driver, diode)
    assert limit == pytest.approx(expected, rel=0.001)
    if not diode and not driver:
        assert input_level_v(limit, pullup, supply) == pytest.approx(vil)


def test_a_threshold_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="threshold"):
        largest_loop_ohm(10e3, 5.0, 5.0)
    with pytest.raises(ValueError, match="threshold"):
        largest_loop_ohm(0.0, 5.0, 0.8)
    assert largest_loop_ohm(10e3, 5.0, 0.5, 0.4, 0.3) == 0.0


def test_margin_against_a_target() -> None:
    target = Target(5.0, 4700.0, 0.8)
    assert target_limit_ohm(target) == pytest.approx(895.2, abs=0.1)
    assert target_margin(target, 89.52) == pytest.approx(10.0, rel=0.001)
    assert target_margin(target, 1790.0) < 1
    assert math.isinf(target_margin(target, 0.0))
    assert input_level_v(math.inf, 4700.0, 5.0) == 5.0


@pytest.mark.parametrize(("ampere", "volts"), [(10e-6, 0.375), (0.1e-3, 0.480), (1e-3, 0.584), (10e-3, 0.694)])
def test_diode_drop(ampere: float, volts: float) -> None:
    """1N4148 simulation model (Is 2.52 nA, N 1.752, Rs 0.568), worked out at 25.852 mV."""
    assert D1N4148.forward_v(ampere) == pytest.approx(volts, abs=0.0006)
    current, slope = D1N4148.junction(D1N4148.forward_v(ampere) - ampere * D1N4148.series_ohm)
    assert current == pytest.approx(ampere)
    assert slope == pytest.approx(ampere / D1N4148.slope_v, rel=0.001)


@pytest.mark.parametrize(("fraction", "factor"), [(0.6, 0.916), (0.7, 1.204), (0.99, 4.605)])
def test_rise_time(fraction: float, factor: float) -> None:
    """RC charging (common practice)."""
    assert rise_time_s(1000.0, 1e-9, 5.0, 5.0 * fraction) == pytest.approx(factor * 1e-6, rel=0.001)


def test_fifty_kohm_and_a_hundred_picofarad_take_four_and_a_half_microseconds() -> None:
    taken = rise_time_s(50e3, 100e-12, 5.0, 3.0)
    assert taken == pytest.approx(4.58e-6, rel=0.01)
    assert capacitance_f(50e3, taken, 5.0, 3.0) == pytest.approx(100e-12)


def test_levels_never_reached_are_refused() -> None:
    with pytest.raises(ValueError, match="never reaches"):
        rise_time_s(1000.0, 1e-9, 5.0, 5.0)
    with pytest.raises(ValueError, match="capacitance"):
        capacitance_f(1000.0, 1e-6, 5.0, 5.0)


def test_the_reference_board_reads_good_and_worn_contacts() -> None:
    """Worn carbon contacts reach 5-10 kohm (vendor data); 20 kohm is no contact."""
    assert 10_000 < REFERENCE_INPUTS.largest_loop_ohm < 20_000
