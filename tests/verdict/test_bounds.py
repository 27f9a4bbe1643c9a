"""Exact bounds against published values and SciPy."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from tailwise.verdict.bounds import binomial_limits, miss_bound, no_miss_bound, poisson_limits


@pytest.mark.parametrize(("trials", "bound"), [(1, 0.95), (10, 0.2589), (30, 0.0950), (100, 0.0295), (1000, 0.002991)])
def test_rule_of_three_in_its_exact_form(trials: int, bound: float) -> None:
    """1-0.05^(1/n), Hanley and Lippman-Hand, JAMA 1983 (from memory); values worked out from the formula."""
    assert no_miss_bound(trials) == pytest.approx(bound, abs=5e-5)
    assert trials < 30 or no_miss_bound(trials) == pytest.approx(3 / trials, rel=0.06)


@pytest.mark.parametrize(("trials", "percent"), [(29, 10), (59, 5), (299, 1)])
def test_how_many_trials_show_a_rate(trials: int, percent: int) -> None:
    """No failure in 29, 59, 299 shows 10, 5, 1 % at 95 % (worked out from the formula)."""
    assert no_miss_bound(trials) <= percent / 100 < no_miss_bound(trials - 1)


def test_no_trials_prove_nothing() -> None:
    assert no_miss_bound(0) == 1.0
    assert miss_bound(3, 3) == 1.0
    assert binomial_limits(0, 0) == (0.0, 1.0)


def test_clopper_pearson_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 7.2.4.2: 4 of 20 at 90 %."""
    assert binomial_limits(4, 20, 0.90) == pytest.approx((0.0714, 0.4010), abs=5e-5)


@pytest.mark.parametrize(("count", "low", "high"), [(0, 0.0, 3.689), (1, 0.0253, 5.572), (3, 0.619, 8.767), (10, 4.795, 18.39)])
def test_garwood_limits(count: int, low: float, high: float) -> None:
    """Poisson 95 % limits (Garwood 1936; worked out from the chi-square form)."""
    assert poisson_limits(count) == pytest.approx((low, high), abs=5e-3)


@given(st.integers(1, 400), st.data())
@settings(deadline=None)
def test_binomial_limits_agree_with_scipy(trials: int, data: st.DataObject) -> None:
    hits = data.draw(st.integers(0, trials))
    expected = stats.binomtest(hits, trials).proportion_ci(confidence_level=0.95, method="exact")
    assert binomial_limits(hits, trials) == pytest.approx((expected.low, expected.high), abs=1e-9)
    upper = 1.0 if hits == trials else float(stats.beta.ppf(0.95, hits + 1, trials - hits))
    assert miss_bound(hits, trials) == pytest.approx(upper, abs=1e-9)


@given(st.integers(0, 300), st.floats(0.5, 0.999))
@settings(deadline=None)
def test_poisson_limits_agree_with_scipy(count: int, confidence: float) -> None:
    tail = (1 - confidence) / 2
    low = 0.0 if count == 0 else float(stats.chi2.ppf(tail, 2 * count)) / 2
    high = float(stats.chi2.ppf(1 - tail, 2 * count + 2)) / 2
    assert poisson_limits(count, confidence) == pytest.approx((low, high), rel=1e-8, abs=1e-9)


@given(st.integers(1, 200))
def test_more_presses_prove_more(trials: int) -> None:
    assert no_miss_bound(trials + 1) < no_miss_bound(trials)
    assert miss_bound(1, trials + 1) > miss_bound(0, trials + 1)
