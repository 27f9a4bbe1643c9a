"""Whatever the link does to the bytes, it invents nothing."""

from __future__ import annotations

from functools import cache
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from tailwise.model.observation import AttemptResult, Observations
from tailwise.observe.tried import silent_keys
from tailwise.recording.format import Received, Record
from tests.observe.board import MS, Board, to_records
from tests.observe.folding import fold, observer_of
from tests.observe.layouts import grid

GRID = grid(3, 4)


@cache
def a_board() -> tuple[Board, int]:
    """A walk over every key, a row that drops out under two held keys, fast typing and a closed rectangle."""
    board = Board(GRID, scan_us=400, state_us=40 * MS)
    end = board.walk(each_us=160 * MS)
    for key in ("B1", "B4", "C2"):
        board.press(key, end, 600 * MS)
    for start in (200, 260, 330):
        board.lose("B", end + start * MS, end + start * MS + 1500)
    at = end + 900 * MS
    for key in ("A1", "A2", "C1", "C2"):
        board.press(key, at, 200 * MS)
        at += 50 * MS
    return board, at + 500 * MS


@cache
def frames() -> list[tuple[str, int, bytes]]:
    board, end = a_board()
    return board.frames(end)


def folded(changed: list[tuple[str, int, bytes]]) -> Observations:
    return fold(GRID, to_records(changed, a_board()[0].marks), every_key_pressed=True)


@cache
def whole() -> Observations:
    return folded(frames())


def invents_nothing(seen: Observations, known: Observations | None = None) -> None:
    """Times may shift where the answer to START is lost, and the first STATEs with it."""
    known = known or whole()
    assert {each.lines for each in seen.joined} <= {each.lines for each in known.joined}
    assert set(seen.elsewhere) <= set(known.elsewhere)
    for each in seen.dropouts:
        assert any(
            (each.lost, each.bridged) == (real.lost, real.bridged) and abs(each.start_us - real.start_us) <= 100 * MS
            for real in known.dropouts
        )
    sure = {each.key for each in known.presses if each.certain}
    assert {each.key for each in seen.presses if each.certain} <= sure
    for before, after in zip(known.attempts, seen.attempts, strict=True):
        assert after.result in (before.result, AttemptResult.UNKNOWN)
    assert not set(silent_keys(seen)) & sure


def test_the_run_itself_shows_what_was_done() -> None:
    seen = whole()
    assert [(each.lost, each.kept, each.bridged) for each in seen.dropouts] == [(("B1", "B4"), ("C2",), True)] * 3
    assert {attempt.result for attempt in seen.attempts} == {AttemptResult.SEEN}
    assert {press.key for press in seen.presses if press.certain} == set(GRID.key_by_id)
    assert (seen.joined, seen.elsewhere, seen.blind) == ((), (), ())


SPOTS = st.integers(0, len(frames()) - 1)


@given(SPOTS, st.integers(1, 3))
@settings(max_examples=80, deadline=None)
def test_a_lost_frame_becomes_no_finding(at: int, count: int) -> None:
    kept = frames()
    invents_nothing(folded(kept[:at] + kept[at + count :]))


@given(SPOTS, st.integers(0, 255), st.integers(1, 255))
@settings(max_examples=60, deadline=None)
def test_a_damaged_frame_becomes_no_finding(at: int, place: int, flips: int) -> None:
    side, time, data = frames()[at]
    damaged = bytearray(data)
    damaged[place % len(data)] ^= flips
    seen = folded([*frames()[:at], (side, time, bytes(damaged)), *frames()[at + 1 :]])
    invents_nothing(seen)
    if side == "rx" and at < len(frames()) - 1:
        assert seen.link.bad >= 1 or seen.link.lost >= 1


@given(SPOTS, st.integers(1, 4), st.integers(0, 6))
@settings(max_examples=60, deadline=None)
def test_repeated_frames_become_no_finding(at: int, count: int, later: int) -> None:
    kept = frames()
    again = kept[at : at + count]
    there = min(len(kept), at + count + later)
    invents_nothing(folded(kept[:there] + again + kept[there:]))


@given(st.lists(SPOTS, min_size=2, max_size=25, unique=True))
@settings(max_examples=40, deadline=None)
def test_many_lost_frames_become_no_finding(gone: list[int]) -> None:
    lost = set(gone)
    invents_nothing(folded([each for at, each in enumerate(frames()) if at not in lost]))


def a_bouncing_board(chance: Random) -> tuple[Board, int]:
    """Every key once, each with its own bounce at both ends, then a row that drops out under held keys."""
    board = Board(GRID, scan_us=chance.choice([250, 400, 900]), state_us=chance.choice([20, 40, 50]) * MS)
    at = 2200 * MS
    for key in GRID.keys:
        board.asked(key.id, at)
        length, edge = chance.randrange(80, 140) * MS, 0
        bounces = []
        for _ in range(chance.randrange(5)):
            start = edge + chance.randrange(300, 4500)
            edge = start + chance.randrange(200, 1500)
            bounces.append((start, edge))
        late = length - chance.randrange(1500, 9000)
        bounces.append((late, late + chance.randrange(300, 1200)))
        board.press(key.id, at + chance.randrange(20, 60) * MS, length, bounces)
        at += 200 * MS
    for name in ("B1", "B4", "C2"):
        board.press(name, at, 600 * MS, [(500, 900)])
    for start in (200, 260, 330):
        board.lose("B", at + start * MS, at + start * MS + 2500)
    return board, at + 900 * MS


@given(st.integers(0, 2**32), st.lists(st.tuples(st.floats(0, 0.999), st.integers(1, 3)), min_size=1, max_size=3))
@settings(max_examples=60, deadline=None)
def test_gaps_among_bounce_become_no_finding(seed: int, gaps: list[tuple[float, int]]) -> None:
    board, end = a_bouncing_board(Random(seed))
    sent = board.frames(end)
    known = fold(GRID, to_records(sent, board.marks), every_key_pressed=True)
    kept = sent[12:]
    for where, count in gaps:
        at = int(where * len(kept))
        kept = kept[:at] + kept[at + count :]
    invents_nothing(fold(GRID, to_records([*sent[:12], *kept], board.marks), every_key_pressed=True), known)


@given(st.lists(st.integers(1, 4000), min_size=1, max_size=60))
@settings(max_examples=30, deadline=None)
def test_any_chunking_of_the_bytes_gives_the_same(sizes: list[int]) -> None:
    data = b"".join(data for side, _, data in frames() if side == "rx")
    chunks: list[Record] = []
    turn = 0
    while data:
        size = sizes[turn % len(sizes)]
        chunks.append(Received(0, data[:size]))
        data = data[size:]
        turn += 1
    marks = to_records([], a_board()[0].marks)
    assert fold(GRID, [*chunks, *marks], every_key_pressed=True) == whole_without_host()


@cache
def whole_without_host() -> Observations:
    return folded([each for each in frames() if each[0] == "rx"])


def test_asking_in_between_changes_nothing() -> None:
    board, _ = a_board()
    observer = observer_of(GRID, [], every_key_pressed=True)
    for number, record in enumerate(to_records(frames(), board.marks)):
        observer.feed(record)
        if number % 97 == 0:
            observer.snapshot()
            observer.observations()
    assert observer.observations() == whole()
