"""Doubts: silences beyond the hand, dropouts and joins without a finding."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tailwise.layoutfile.library import find_layout
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Attempt, AttemptResult, Dropout, Joined, Observations, Press
from tailwise.verdict.doubts import Doubt, DoubtKind, _at_least, doubts_of

DEMO = find_layout("demo-7x6")


def run(silent: dict[str, int], rounds: int = 3) -> Observations:
    """Every key pressed so often, some of the presses silent."""
    attempts = []
    at = 2_000_000
    for key in DEMO.keys:
        for number in range(rounds):
            result = AttemptResult.SILENT if number < silent.get(key.id, 0) else AttemptResult.SEEN
            attempts.append(Attempt(key.id, at, at + 200_000, result))
            at += 250_000
    return Observations(DEMO, attempts=tuple(attempts))


def test_a_missed_press_here_and_there_is_the_hand() -> None:
    assert doubts_of(run({})) == ()
    assert doubts_of(run({"A": 1, "L": 1, "7": 1})) == ()


def test_two_of_three_on_one_key_are_not() -> None:
    assert doubts_of(run({"A": 2})) == (Doubt(DoubtKind.SILENT_KEY, ("A",), 2, 3),)


def test_a_line_whose_keys_stay_silent_one_after_the_other_is_named() -> None:
    found = doubts_of(run(dict.fromkeys(DEMO.keys_on["C4"][:5], 1)))
    assert Doubt(DoubtKind.SILENT_LINE, ("C4",), 5, 3 * len(DEMO.keys_on["C4"])) in found


def test_a_careless_hand_is_known_by_its_misses_everywhere() -> None:
    careless = {key.id: 1 for number, key in enumerate(DEMO.keys) if number % 3 == 0}
    assert doubts_of(run(careless)) == ()


def test_dropouts_and_joins_without_a_finding() -> None:
    dropouts = tuple(Dropout(3_000_000 + n * 500_000, 3_001_000 + n * 500_000, ("A",), ()) for n in range(3))
    observations = Observations(DEMO, dropouts=dropouts, joined=(Joined(("C1", "C2"), 0, 5_000, steady=False),))
    assert doubts_of(observations) == (Doubt(DoubtKind.JOINED, ("C1", "C2")), Doubt(DoubtKind.DROPPED, ("A",), 3))


@given(st.integers(0, 40), st.integers(0, 40), st.floats(0, 1))
def test_the_chance_as_scipy(count: int, more: int, rate: float) -> None:
    assert _at_least(count, count + more, rate) == pytest.approx(stats.binom.sf(count - 1, count + more, rate), abs=1e-9)


def test_a_key_that_hangs_while_others_are_pressed() -> None:
    """K was pressed at 3 s and let go at 7 s; four others were pressed meanwhile. A mark of holding, or a lock, explains it."""
    others = ("1", "Q", "A", "Z")
    attempts = [Attempt("K", 3_000_000, 3_500_000, AttemptResult.SEEN)]
    attempts += [
        Attempt(key, 4_000_000 + at * 500_000, 4_400_000 + at * 500_000, AttemptResult.SEEN) for at, key in enumerate(others)
    ]
    run = Observations(DEMO, presses=(Press("K", 3_000_000, 7_000_000),), attempts=tuple(attempts))
    assert doubts_of(run) == (Doubt(DoubtKind.HANGS, ("K",), 4),)
    assert doubts_of(replace(run, attempts=tuple(attempts[:3]))) == ()
    assert doubts_of(replace(run, marks=(Mark(2_900_000, Deed.HOLD, key="K"),))) == ()
