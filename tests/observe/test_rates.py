"""Episode rates against SciPy and published examples."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tailwise.observe.rates import Enough, EpisodeTest, TrialTest, corrected, fisher_more, fisher_two_sided, more_often


@given(st.integers(1, 40), st.floats(0.5, 500), st.integers(0, 40), st.floats(0.5, 500))
def test_the_conditional_comparison_as_scipy(count: int, seconds: float, other: int, other_seconds: float) -> None:
    expected = stats.binomtest(count, count + other, seconds / (seconds + other_seconds), alternative="greater").pvalue
    assert more_often(count, seconds, other, other_seconds) == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_three_to_five_episodes_suffice_after_45_s_of_control() -> None:
    """With 45 s left alone without an episode, seven zones allowed for, at the 5 % level."""
    assert more_often(3, 6.0, 0, 45.0) * 7 < 0.05
    assert more_often(5, 20.0, 0, 45.0) * 7 < 0.05
    assert more_often(2, 20.0, 0, 45.0) * 7 > 0.05


def test_fisher_against_the_published_tables() -> None:
    """3-1-1-3 two-sided 0.4857; eight cups all right 1/70 (Fisher, The Design of Experiments: one-sided; doubled here)."""
    assert fisher_two_sided(3, 1, 1, 3) == pytest.approx(0.4857, abs=5e-5)
    assert fisher_two_sided(4, 0, 0, 4) == pytest.approx(2 / 70)
    assert fisher_more(4, 0, 0, 4) == pytest.approx(1 / 70)


@given(st.integers(0, 12), st.integers(0, 12), st.integers(0, 12), st.integers(0, 12))
def test_fisher_as_scipy(a: int, b: int, c: int, d: int) -> None:
    expected = stats.fisher_exact([[a, b], [c, d]]).pvalue
    assert fisher_two_sided(a, b, c, d) == pytest.approx(expected, rel=1e-6)
    greater = stats.fisher_exact([[a, b], [c, d]], alternative="greater").pvalue
    assert fisher_more(a, b, c, d) == pytest.approx(greater, rel=1e-6)


def test_wald_against_the_nist_plan() -> None:
    """0.01 against 0.10, alpha 0.05, beta 0.10: h1 0.9389, h2 1.2054, s 0.03975; 24 accept, 2 refuse (NIST 6.2.6 form)."""
    test = TrialTest(0.01, 0.10, 0.05, 0.10)
    assert test.accept_intercept == pytest.approx(0.9389, abs=5e-5)
    assert test.reject_intercept == pytest.approx(1.2054, abs=5e-5)
    assert test.slope == pytest.approx(0.03975, abs=5e-6)
    assert (test.earliest_accept, test.earliest_reject) == (24, 2)


def test_walds_own_example() -> None:
    """0.1 against 0.3, alpha 0.02, beta 0.03: earliest accept 14, refuse 4 (Wald)."""
    test = TrialTest(0.1, 0.3, 0.02, 0.03)
    assert (test.earliest_accept, test.earliest_reject) == (14, 4)


def test_holm_steps_down() -> None:
    assert corrected({"fold": 0.01, "neck": 0.04, "left": 0.03}) == pytest.approx({"fold": 0.03, "left": 0.06, "neck": 0.06})
    assert corrected({}) == {}


@given(st.dictionaries(st.text(max_size=3), st.floats(0, 1), max_size=9))
def test_a_correction_never_makes_anything_surer(p_values: dict[str, float]) -> None:
    found = corrected(p_values)
    assert all(found[name] >= p_values[name] for name in p_values)
    ordered = sorted(p_values, key=lambda name: (p_values[name], name))
    assert [found[name] for name in ordered] == sorted(found.values())


def test_the_episode_test_stops_early_and_both_ways() -> None:
    test = EpisodeTest(low=0.02, high=0.5, alpha=0.05 / 7, beta=0.05)
    assert test.says(0, 0.0) is Enough.GO_ON
    assert test.says(2, 4.0) is Enough.MOVES or test.says(3, 4.0) is Enough.MOVES
    assert test.says(0, test.quiet_after_s * 0.999) is Enough.GO_ON
    assert test.says(0, test.quiet_after_s * 1.001) is Enough.QUIET


@given(st.integers(0, 30), st.floats(0, 200))
def test_more_episodes_never_make_it_quieter(count: int, seconds: float) -> None:
    order = [Enough.QUIET, Enough.GO_ON, Enough.MOVES]
    test = EpisodeTest(low=0.02, high=0.5, alpha=0.01, beta=0.05)
    assert order.index(test.says(count, seconds)) <= order.index(test.says(count + 1, seconds))
