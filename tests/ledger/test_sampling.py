"""Acceptance by attributes against the published plan and SciPy."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tailwise.ledger.sampling import Plan, acceptance_probability, acceptance_probability_in_lot, decide, share_at


def test_the_published_plan() -> None:
    """n = 68, c = 2: accepted with 0.95 at 1.213 % and with 0.05 at 8.970 % (published single sampling plan)."""
    plan = Plan(68, 2)
    assert share_at(plan, 0.95) == pytest.approx(0.01213, abs=5e-6)
    assert share_at(plan, 0.05) == pytest.approx(0.08970, abs=5e-6)


@given(st.integers(1, 120), st.integers(0, 119), st.floats(0, 1))
def test_binomial_as_scipy(sample: int, allowed: int, share: float) -> None:
    plan = Plan(sample, min(allowed, sample - 1))
    assert acceptance_probability(plan, share) == pytest.approx(stats.binom.cdf(plan.allowed, sample, share), abs=1e-9)


@given(st.integers(1, 60), st.integers(0, 59), st.integers(0, 200), st.data())
def test_hypergeometric_as_scipy(sample: int, allowed: int, more: int, data: st.DataObject) -> None:
    plan, lot = Plan(sample, min(allowed, sample - 1)), sample + more
    faulty = data.draw(st.integers(0, lot))
    expected = stats.hypergeom.cdf(plan.allowed, lot, faulty, sample)
    assert acceptance_probability_in_lot(plan, lot, faulty) == pytest.approx(expected, abs=1e-9)


def test_a_lot_is_decided_as_soon_as_it_can_be() -> None:
    plan = Plan(10, 1)
    assert decide(plan, 2, 2).accepted is False
    assert decide(plan, 9, 0).accepted is True
    assert decide(plan, 8, 1).accepted is None
    assert decide(plan, 10, 1).accepted is True


@pytest.mark.parametrize(("sample", "allowed"), [(0, 0), (5, 5), (5, -1), (20_000, 1)])
def test_a_plan_that_makes_no_sense_is_refused(sample: int, allowed: int) -> None:
    with pytest.raises(ValueError, match=r"0 to|1 to"):
        Plan(sample, allowed)
