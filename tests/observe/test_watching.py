"""What a watch without pause shows, and what it must never show."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tailwise.harness.wiring import plain_wiring
from tailwise.layoutfile.library import find_layout
from tailwise.observe.observer import Observer
from tailwise.recording.format import Received, Record
from tests.observe.watchboard import MS, SECOND, WatchBoard

DEMO = find_layout("demo-7x6")
PAIRS = (("R1", "C4"), ("R2", "C4"))
"""Keys 4 and 9 share C4."""
T = 4 * SECOND


def board(first: tuple[tuple[int, int], ...] = (), second: tuple[tuple[int, int], ...] = (), **more: object) -> WatchBoard:
    return WatchBoard(DEMO, PAIRS, (first, second), **more)  # type: ignore[arg-type]


def test_both_at_one_instant_is_one_dropout_of_both_keys() -> None:
    seen = board(((T, T + 300),), ((T + 3, T + 301),)).observations()
    (dropout,) = seen.dropouts
    assert (dropout.start_us, dropout.end_us, dropout.lost, dropout.kept) == (T, T + 301, ("4", "9"), ())


def test_one_alone_leaves_the_other_kept_and_is_told_to_the_microsecond() -> None:
    (dropout,) = board(((T, T + 21),)).observations().dropouts
    assert (dropout.end_us - dropout.start_us, dropout.lost, dropout.kept) == (21, ("4",), ("9",))


def test_a_very_short_one_says_nothing_of_the_other() -> None:
    (dropout,) = board(((T, T + 2),)).observations().dropouts
    assert (dropout.lost, dropout.kept) == (("4",), ())


def test_a_finger_that_slides_off_is_no_dropout_nor_is_its_bounce() -> None:
    slid = ((T - 900, T - 400), (T, T + 150 * MS), (T + 150 * MS + 600, T + 151 * MS))
    assert board(slid).observations().dropouts == ()


def test_a_long_opening_of_both_is_the_line() -> None:
    long = ((T, T + 150 * MS),)
    (dropout,) = board(long, long).observations().dropouts
    assert dropout.lost == ("4", "9")
    assert dropout.end_us - dropout.start_us == 150 * MS


def test_a_pair_nobody_holds_shows_nothing_and_is_no_time_watched() -> None:
    seen = board(((T, T + 500),), closes=(0, None)).observations()
    held, loose = seen.watches
    assert loose.closed == () and loose.closed_us == 0
    assert held.closed_us == pytest.approx(3 * SECOND, abs=50 * MS)
    (dropout,) = seen.dropouts
    assert dropout.kept == ()


def test_make_bounce_of_the_first_closure_is_no_dropout() -> None:
    assert board(((T + 200, T + 700),), closes=(T, 0)).observations().dropouts == ()


def test_openings_that_were_only_counted_stay_counts() -> None:
    burst = tuple((T + at * 100, T + at * 100 + 40) for at in range(50))
    seen = board(burst, unlisted={(0, start) for start, _ in burst[10:]}).observations()
    first, second = seen.watches
    assert (first.openings, first.open_us) == (50, 2000)
    assert (sum(each[2] for each in first.unlisted), sum(each[3] for each in first.unlisted)) == (40, 1600)
    assert second.unlisted == ()
    assert len(seen.dropouts) == 10


def test_while_the_pairs_are_watched_the_matrix_is_blind() -> None:
    (blind,) = board().observations().blind
    assert blind.why == "single lines were watched meanwhile"
    assert (blind.start_us, blind.end_us) == (2900 * MS, 6 * SECOND + 5 * MS)


def test_pairs_the_host_did_not_name_show_nothing() -> None:
    observer = Observer(DEMO, plain_wiring(DEMO))
    for record in board(((T, T + 300),)).records():
        if isinstance(record, Received):
            observer.feed(record)
    seen = observer.observations()
    assert (seen.watches, seen.dropouts) == ((), ())


LENGTHS = st.integers(5, 30 * MS)
BURSTS = st.lists(st.tuples(st.integers(100, 60 * MS), LENGTHS), max_size=30)


def laid(burst: list[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    at, found = 3_200 * MS, []
    for gap, length in burst:
        at += gap
        found.append((at, at + length))
        at += length
    return tuple(found)


def cut(records: list[Record], sizes: list[int]) -> list[Record]:
    found: list[Record] = []
    for record in records:
        if not isinstance(record, Received):
            found.append(record)
            continue
        at = 0
        while at < len(record.data):
            size = sizes[len(found) % len(sizes)]
            found.append(Received(record.t_us, record.data[at : at + size]))
            at += size
    return found


@settings(max_examples=40, deadline=None)
@given(BURSTS, BURSTS, st.lists(st.integers(1, 40), min_size=1, max_size=5))
def test_any_chunking_shows_the_same(first: list[tuple[int, int]], second: list[tuple[int, int]], sizes: list[int]) -> None:
    made = board(laid(first), laid(second))
    observer = Observer(DEMO, plain_wiring(DEMO))
    for record in cut(board(laid(first), laid(second)).records(), sizes):
        observer.feed(record)
    assert observer.observations() == made.observations()


@settings(max_examples=60, deadline=None)
@given(BURSTS, BURSTS, st.sets(st.integers(0, 160), max_size=60))
def test_lost_frames_leave_counts_whole_and_invent_nothing(
    first: list[tuple[int, int]], second: list[tuple[int, int]], lost: set[int]
) -> None:
    last_at = max((end for each in (laid(first), laid(second)) for _, end in each), default=0)
    end_us = max(5 * SECOND, last_at + 100 * MS)
    whole = board(laid(first), laid(second), end_us=end_us)
    torn = board(laid(first), laid(second), end_us=end_us, lost=lost).observations()
    for span, openings in zip(torn.watches, whole.openings, strict=True):
        assert span.openings <= len(openings)
        if span.end_us > last_at:
            assert (span.openings, span.open_us) == (len(openings), sum(end - start for start, end in openings))
    real = {start for openings in whole.openings for start, _ in openings}
    assert all(dropout.start_us in real for dropout in torn.dropouts)
    for dropout in torn.dropouts:
        if dropout.kept:
            other = whole.openings[1 if dropout.kept == ("9",) else 0]
            assert not any(start < dropout.end_us and end > dropout.start_us for start, end in other)
