"""Keys that open and close again sooner than a finger comes back."""

from __future__ import annotations

from tailwise.layoutfile.library import find_layout
from tailwise.model.observation import Attempt, AttemptResult, Blind, Observations, Press
from tailwise.observe.returns import quick_returns

LAYOUT = find_layout("demo-7x6")
TWICE = (Press("K", 3_000_000, 3_700_000), Press("K", 3_740_000, 4_400_000))


def test_a_short_gap_is_told_with_the_keys_held_through_it() -> None:
    held = Press("F", 2_900_000, None)
    let_go = Press("G", 3_000_000, 3_720_000)
    (gap,) = quick_returns(Observations(LAYOUT, (*TWICE, held, let_go)))
    assert (gap.start_us, gap.end_us, gap.lost, gap.kept) == (3_700_000, 3_740_000, ("K",), ("F",))


def test_a_finger_needs_longer() -> None:
    assert quick_returns(Observations(LAYOUT, (TWICE[0], Press("K", 3_765_000, 4_400_000)))) == ()


def test_a_mark_or_a_blind_stretch_explains_it() -> None:
    pressed = Attempt("K", 3_735_000, 4_400_000, AttemptResult.SEEN)
    assert quick_returns(Observations(LAYOUT, TWICE, attempts=(pressed,))) == ()
    assert quick_returns(Observations(LAYOUT, TWICE, blind=(Blind(3_690_000, 3_730_000, "lost"),))) == ()


def test_the_mark_of_the_first_press_explains_nothing() -> None:
    pressed = Attempt("K", 3_000_000, 5_000_000, AttemptResult.SEEN)
    assert len(quick_returns(Observations(LAYOUT, TWICE, attempts=(pressed,)))) == 1


def test_doubtful_presses_tell_nothing() -> None:
    doubtful = Press("K", 3_740_000, 4_400_000, certain=False)
    assert quick_returns(Observations(LAYOUT, (TWICE[0], doubtful))) == ()
