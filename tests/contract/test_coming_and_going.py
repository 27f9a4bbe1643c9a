"""A column that goes missing and comes back: the same findings from bench, replay and the real image."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tailwise.judge.document import to_bytes
from tailwise.judge.judge import judge_recording
from tailwise.link.base import Link
from tailwise.live.events import Finished
from tailwise.live.run import Opener, Run, RunSettings
from tailwise.live.urls import open_link
from tailwise.model.mark import Deed, Mark
from tailwise.recording.reader import read_recording
from tests.contract.scripted import Join, Script, ScriptedBoard, pressed
from tests.live.helpers import LAYOUT, opener_of

SCENARIO = Path(__file__).with_name("coming-and-going.yaml")
LINE = "C4"
HELD = ("4", "K", "S")
FLEX_US, STILL_US, UP_US, END_US = 8_500_000, 12_000_000, 12_500_000, 13_000_000
OPEN = tuple((FLEX_US + 200_000 + 500_000 * at, FLEX_US + 300_000 + 517_000 * at) for at in range(6))
"""When the column is open at its tail, run time in microseconds."""


def script() -> Script:
    """Every key once, then three held while the fold is bent and the column comes and goes.

    While it is open the two held keys on it still join their rows through the film.
    """
    joins = [
        pressed(LAYOUT, key.id, at, at + 70_000) for key, at in zip(LAYOUT.keys, range(2_100_000, 9**9, 140_000), strict=False)
    ]
    down_us = 8_200_000
    edges = [down_us, *(edge for gap in OPEN for edge in gap), UP_US]
    for key in HELD:
        if LINE in LAYOUT.key_by_id[key].crosspoints[0]:
            joins += [pressed(LAYOUT, key, start, end) for start, end in zip(edges[::2], edges[1::2], strict=True)]
        else:
            joins.append(pressed(LAYOUT, key, down_us, UP_US))
    rows = [LAYOUT.key_by_id[key].row or "" for key in HELD if LAYOUT.key_by_id[key].column == LINE]
    joins += [Join(rows[0], rows[1], start, end) for start, end in OPEN]
    marks = (
        *(Mark(down_us, Deed.HOLD, key=key) for key in HELD),
        Mark(FLEX_US, Deed.FLEX, zone="fold"),
        Mark(STILL_US, Deed.STILL),
        *(Mark(UP_US, Deed.RELEASE, key=key) for key in HELD),
    )
    return Script(tuple(joins), END_US, marks)


def findings(url: str, record: Path, opener: Opener = open_link) -> list[dict[str, Any]]:
    """The findings of a run, by what they claim; and the recording must say the same."""
    settings = RunSettings(url, LAYOUT, record=record, every_key_pressed=True, progress_hz=0)
    *_, last = Run(settings, opener).events()
    assert isinstance(last, Finished)
    assert to_bytes(judge_recording(read_recording(record))) == last.data
    names = ("kind", "lines", "keys", "place", "steadiness")
    return [{name: finding[name] for name in names} for finding in last.document["findings"]]


def test_three_boards_one_finding(tmp_path: Path) -> None:
    board: Link = ScriptedBoard(LAYOUT, script())
    practice = findings(f"practice:{SCENARIO}", tmp_path / "practice.twrec")
    replay = findings(f"replay:{tmp_path / 'practice.twrec'}", tmp_path / "replay.twrec")
    simulated = findings("simulated board", tmp_path / "simulated.twrec", opener_of(board))
    assert practice == replay == simulated
    assert [(finding["kind"], finding["lines"]) for finding in practice] == [("intermittent_line", [LINE])]
    assert practice[0]["keys"] == sorted(LAYOUT.keys_on[LINE])
