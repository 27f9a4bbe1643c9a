"""A run that changes between the matrix and single pairs, on a board that can and on one that cannot."""

from __future__ import annotations

from pathlib import Path

import pytest

from tailwise.judge.document import to_bytes
from tailwise.judge.judge import fed_judge, judge_recording
from tailwise.live.events import Finished, LiveEvent, MarkMade, Progress, Started, Watching
from tailwise.live.run import Run
from tailwise.model.fault import FaultKind
from tailwise.model.mark import Deed
from tailwise.practice.bench import Bench, BenchLink, Setup
from tailwise.practice.naming import name_fault
from tailwise.practice.operator import Flex, Hold, Press, Release, Restart, Still
from tailwise.practice.planted import Episodes, Planted
from tailwise.recording.reader import read_recording
from tests.live.fake_board import FakeBoard, FakeLink
from tests.live.helpers import LAYOUT, opener_of, settings

PAIRS = (("R1", "C4"), ("R2", "C4"))
"""Keys 4 and 9: both sensed through their rows, C4 driven."""
CRACK = Planted(
    name_fault(LAYOUT, FaultKind.INTERMITTENT_LINE, ("C4",)),
    episodes=Episodes("fold", 1.5, 0.0, open_ms=(0.02, 60.0), openings=(1, 12), gap_ms=(0.5, 20.0), start_s=5.0),
)
SCRIPT = (Press(("4", "9")), Hold(("4", "9")), Still(8.0), Flex("fold", 8.0), Still(2.0), Release(), Press(("5",)))


def bench(**more: object) -> BenchLink:
    values: dict[str, object] = {"script": SCRIPT, "planted": (CRACK,), "seed": 3, "marking": frozenset(Deed), **more}
    return BenchLink(Bench(Setup(LAYOUT, **values)))  # type: ignore[arg-type]


def drive(link: BenchLink, path: Path | None, back: bool = True) -> tuple[list[LiveEvent], Run]:
    """Watch once both keys are held, the matrix again once they are let go."""
    run = Run(settings(record=path, seconds=None, progress_hz=20.0), opener_of(link))
    events = []
    for event in run.events():
        events.append(event)
        if isinstance(event, MarkMade) and event.mark.do is Deed.STILL and event.mark.at_us < 8_000_000:
            run.watch(PAIRS)
        if isinstance(event, MarkMade) and event.mark.do is Deed.RELEASE and back:
            run.matrix()
    return events, run


def test_openings_of_both_pairs_accuse_the_line_and_the_zone(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    events, _ = drive(bench(), path)
    assert [each.pairs for each in events if isinstance(each, Watching)] == [PAIRS, ()]
    (finding,) = next(each for each in events if isinstance(each, Finished)).document["findings"]
    assert (finding["kind"], finding["lines"], finding["zone"]) == ("intermittent_line", ["C4"], "fold")
    recording = read_recording(path)
    final = events[-1]
    assert isinstance(final, Finished)
    assert to_bytes(judge_recording(recording)) == final.data


def test_run_time_goes_on_with_the_clock_over_both_changes(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    link = bench()
    events, run = drive(link, path)
    bench_run_us = link.bench.run_us()
    assert bench_run_us is not None
    starts = [each for each in events if isinstance(each, Started)]
    assert [each.again for each in starts] == [False, False, False]
    assert run.run_us is not None
    assert abs(run.run_us - bench_run_us) < 5_000
    seen = fed_judge(read_recording(path)).observations()
    assert abs(seen.end_us - bench_run_us) < 60_000
    truth = [(each.at_us, each.ohm) for each in link.bench.changes if str(each.slot).startswith("Stretch") and each.ohm > 1e6]
    watched = [each for each in seen.dropouts if len(each.lost) == 2]
    assert len(watched) > 10
    assert all(min(abs(each.start_us - at) for at, _ in truth) < 10 for each in watched)


def test_a_replay_of_it_shows_the_same_times(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    events, run = drive(bench(), path)
    again = Run(settings(url=f"replay:{path}", seconds=None))
    replayed = list(again.events())
    assert [each.run_us for each in replayed if isinstance(each, Started)] == [
        each.run_us for each in events if isinstance(each, Started)
    ]
    assert again.run_us == run.run_us or abs((again.run_us or 0) - (run.run_us or 0)) < 60_000


def test_the_shortest_opening_is_told_in_either_mode() -> None:
    events, _ = drive(bench(), None)
    shown = [each.snapshot for each in events if isinstance(each, Progress)]
    matrix = [each.shortest_us for each in shown if each.watch is None]
    watched = [each.shortest_us for each in shown if each.watch is not None and each.watch.closed == (True, True)]
    assert min(matrix) > 100
    assert watched and max(watched) < 5


def test_a_board_that_cannot_watch_goes_on_with_its_matrix() -> None:
    run = Run(settings(seconds=4.0, progress_hz=20.0), opener_of(FakeLink(FakeBoard())))
    run.watch(PAIRS)
    events = list(run.events())
    (told,) = [each for each in events if isinstance(each, Watching)]
    assert told.pairs == () and "whole matrix" in told.why_not
    assert all(each.snapshot.watch is None for each in events if isinstance(each, Progress))


@pytest.mark.parametrize("lines", [(("R1", "C4"), ("R1", "C3")), (("C4", "R1"), ("R1", "C4"))])
def test_pairs_the_board_refuses_leave_the_matrix(lines: tuple[tuple[str, str], ...]) -> None:
    run = Run(settings(seconds=4.0), opener_of(bench()))
    run.watch(lines)
    events = list(run.events())
    (told,) = [each for each in events if isinstance(each, Watching)]
    assert told.pairs == () and "refused SET_WATCH" in told.why_not


def test_a_board_that_restarts_while_watching_is_told_again_what_to_watch() -> None:
    script = (Hold(("4", "9")), Still(4.0), Restart(), Still(4.0), Release())
    link = bench(script=script, planted=())
    run = Run(settings(seconds=None, progress_hz=20.0), opener_of(link))
    events: list[LiveEvent] = []
    for event in run.events():
        events.append(event)
        if isinstance(event, MarkMade) and event.mark.do is Deed.STILL and event.mark.at_us < 4_000_000:
            run.watch(PAIRS)
    assert [each.again for each in events if isinstance(each, Started)] == [False, False, True]
    last = [each for each in events if isinstance(each, Progress)][-1]
    assert last.snapshot.watch is not None
    assert last.snapshot.watch.pairs == PAIRS
    assert next(each for each in events if isinstance(each, Finished)).document["findings"] == []
