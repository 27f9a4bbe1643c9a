"""Runs on a fake board, and what came of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tailwise.layoutfile.library import find_layout
from tailwise.link.base import Link
from tailwise.live.events import Finished, LiveEvent, Refused, Started
from tailwise.live.run import Opener, Run, RunSettings
from tailwise.recording.format import Linked, LinkEvent
from tailwise.recording.reader import read_recording
from tests.live.fake_board import FakeBoard, FakeLink

LAYOUT = find_layout("demo-7x6")


def opener_of(link: Link) -> Opener:
    """An opener that gives this link."""

    def open_it(url: str, *, realtime: bool = False) -> Link:
        return link

    return open_it


def settings(**more: object) -> RunSettings:
    """Settings of a short run."""
    values: dict[str, object] = {"url": "fake:", "layout": LAYOUT, "seconds": 3.0, "progress_hz": 0.0, **more}
    return RunSettings(**values)  # type: ignore[arg-type]


def run_events(board: FakeBoard, plan: Callable[[FakeLink], None] | None = None, **more: object) -> list[LiveEvent]:
    """All events of a run on this board."""
    link = FakeLink(board)
    if plan is not None:
        plan(link)
    events = list(Run(settings(**more), opener_of(link)).events())
    assert link.closed
    assert isinstance(events[-1], Finished)
    return events


def names(events: list[LiveEvent]) -> list[str]:
    """The kinds of events in order."""
    return [type(event).__name__ for event in events]


def refusal(events: list[LiveEvent]) -> Refused:
    """The one refusal."""
    (found,) = [event for event in events if isinstance(event, Refused)]
    return found


def starts(events: list[LiveEvent]) -> list[Started]:
    """Every start."""
    return [event for event in events if isinstance(event, Started)]


def link_records(path: Path) -> list[LinkEvent]:
    """The link records of a recording, in order."""
    return [record.event for record in read_recording(path).records if isinstance(record, Linked)]
