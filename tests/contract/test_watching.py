"""Watching without pause: the real image tells the openings of a cracked column through two held keys; the run judges them."""

from __future__ import annotations

from pathlib import Path

from tailwise.judge.document import to_bytes
from tailwise.judge.judge import fed_judge
from tailwise.live.events import Finished, MarkMade, Watching
from tailwise.live.run import Run, RunSettings
from tailwise.model.mark import Deed, Mark
from tailwise.recording.reader import read_recording
from tests.contract.scripted import Join, Script, ScriptedBoard, pressed
from tests.live.helpers import LAYOUT, opener_of

PAIRS = (("R1", "C4"), ("R2", "C4"))
HELD = ("4", "9")
DOWN_US, STILL_US, FLEX_US, UP_US, END_US = 2_300_000, 2_600_000, 8_000_000, 11_000_000, 11_400_000
LENGTHS = (12, 40, 150, 700, 4_000, 18_000)
OPEN = tuple((FLEX_US + 300_000 + 400_000 * at, FLEX_US + 300_000 + 400_000 * at + long) for at, long in enumerate(LENGTHS))
"""When the column is open at its tail, run time in microseconds."""


def script() -> Script:
    """Two keys held while the film is left alone and then bent; the open column still joins their rows."""
    edges = [DOWN_US, *(edge for gap in OPEN for edge in gap), UP_US]
    joins = [pressed(LAYOUT, key, start, end) for key in HELD for start, end in zip(edges[::2], edges[1::2], strict=True)]
    joins += [Join("R1", "R2", start, end) for start, end in OPEN]
    marks = (
        *(Mark(DOWN_US, Deed.HOLD, key=key) for key in HELD),
        Mark(STILL_US, Deed.STILL),
        Mark(FLEX_US, Deed.FLEX, zone="fold"),
        Mark(UP_US - 100_000, Deed.STILL),
    )
    return Script(tuple(joins), END_US, marks)


def test_the_real_image_finds_the_line_by_openings_no_scan_can_see(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    run = Run(RunSettings("simulated board", LAYOUT, record=path, progress_hz=0), opener_of(ScriptedBoard(LAYOUT, script())))
    watching = []
    last = None
    for event in run.events():
        if isinstance(event, MarkMade) and event.mark.at_us == STILL_US:
            run.watch(PAIRS)
        if isinstance(event, MarkMade) and event.mark.at_us == UP_US - 100_000:
            run.matrix()
        if isinstance(event, Watching):
            watching.append((event.pairs, event.why_not))
        last = event
    assert watching == [(PAIRS, ""), ((), "")]
    assert isinstance(last, Finished)
    judge = fed_judge(read_recording(path))
    assert to_bytes(judge.document()) == last.data
    seen = judge.observations()
    joint = [dropout for dropout in seen.dropouts if dropout.lost == HELD]
    assert len(joint) == len(LENGTHS)
    late_us = joint[0].start_us - OPEN[0][0]
    assert 0 <= late_us < 5_000, "the script begins when the host has read the ACK of START"
    for dropout, (start, end) in zip(joint, OPEN, strict=True):
        assert abs(dropout.start_us - start - late_us) <= 10
        assert abs((dropout.end_us - dropout.start_us) - (end - start)) <= 4 + 0.01 * (end - start)
    (finding,) = last.document["findings"]
    assert (finding["kind"], finding["lines"], finding["zone"]) == ("intermittent_line", ["C4"], "fold")
