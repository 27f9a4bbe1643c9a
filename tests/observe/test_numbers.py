"""Frame numbers."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tailwise.observe.numbers import Follows, Numbering


def taken(numbers: list[int]) -> tuple[list[Follows], Numbering]:
    numbering = Numbering()
    return [numbering.take(number) for number in numbers], numbering


@given(st.integers(0, 65535), st.integers(1, 300))
def test_numbers_in_order_lose_nothing_across_the_wrap(first: int, count: int) -> None:
    answers, numbering = taken([(first + step) % 65536 for step in range(count)])
    assert set(answers) == {Follows.NEXT}
    assert (numbering.lost, numbering.gaps, numbering.repeated) == (0, 0, 0)


@given(st.integers(0, 65535), st.integers(2, 32767))
def test_a_step_forward_counts_the_missing_ones(first: int, step: int) -> None:
    answers, numbering = taken([first, (first + step) % 65536])
    assert answers[1] is Follows.GAP
    assert (numbering.lost, numbering.gaps) == (step - 1, 1)


@given(st.integers(0, 65535), st.integers(32768, 65536))
def test_the_same_number_and_those_behind_are_ignored(first: int, step: int) -> None:
    answers, numbering = taken([first, (first + step) % 65536, (first + 1) % 65536])
    assert answers[1:] == [Follows.REPEATED, Follows.NEXT]
    assert (numbering.lost, numbering.gaps, numbering.repeated) == (0, 0, 1)


def test_three_stale_frames_that_follow_each_other_begin_anew() -> None:
    answers, numbering = taken([500, 1, 2, 3, 4])
    assert answers == [Follows.NEXT, Follows.REPEATED, Follows.REPEATED, Follows.GAP, Follows.NEXT]
    assert (numbering.lost, numbering.gaps, numbering.repeated) == (0, 1, 2)


def test_stale_frames_that_do_not_follow_each_other_stay_stale() -> None:
    answers, _ = taken([500, 1, 3, 5, 7, 501])
    assert answers[1:] == [Follows.REPEATED] * 4 + [Follows.NEXT]


def test_one_frame_repeated_many_times_is_no_new_beginning() -> None:
    answers, _ = taken([7, 7, 7, 7, 7, 8])
    assert answers[1:] == [Follows.REPEATED] * 4 + [Follows.NEXT]


def test_after_reopening_any_number_is_taken() -> None:
    numbering = Numbering()
    numbering.take(500)
    numbering.reopened()
    assert numbering.take(3) is Follows.GAP
    assert numbering.take(4) is Follows.NEXT
    assert (numbering.lost, numbering.gaps) == (0, 1)
    numbering.reopened()
    assert numbering.take(5) is Follows.NEXT


def test_a_board_that_starts_numbering_anew_after_reopening_leaves_a_gap() -> None:
    numbering = Numbering()
    numbering.take(500)
    numbering.reopened()
    numbering.anew(0)
    assert numbering.take(1) is Follows.NEXT
    assert (numbering.lost, numbering.gaps) == (0, 1)
