"""A run: joins a link, a recording and the judge, and tells a face what happens.

One thread iterates `events()`: it opens the link, talks to the board, writes the recording and feeds the judge. Any
other thread may call the remaining methods at any time; they never block on the board.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tailwise.harness.wiring import Wiring
from tailwise.live.events import LiveEvent
from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark


@dataclass(frozen=True)
class RunSettings:
    """What a run is about.

    url: device path or name, pyserial URL, `practice:SCENARIO` or `replay:RECORDING`. record: a new file, or a folder
    in which the run chooses a free name; None records nothing on disk. marks: replace those of a practice scenario.
    seconds: ends the run that long after the first start, in board time; None: until stop() or the link's own end.
    realtime: practice at the pace of the clock on the wall instead of as fast as it goes. progress_hz: most Progress
    events a second of the link's time, 0 for none. regain_s: how long a lost link is waited for, None: until stop().
    """

    url: str
    layout: Layout
    label: str = ""
    record: Path | None = None
    marks: tuple[Mark, ...] | None = None
    every_key_pressed: bool = False
    seconds: float | None = None
    wiring: Wiring | None = None
    realtime: bool = False
    progress_hz: float = 20.0
    regain_s: float | None = 15.0


class Run:
    """One run on one board. `events()` runs it; the other methods may be called from any thread."""

    def __init__(self, settings: RunSettings) -> None:
        """Nothing is opened yet."""
        self.settings = settings

    @property
    def recording(self) -> Path | None:
        """The file that holds the run, once it is there."""

    @property
    def run_us(self) -> int | None:
        """Run time now, in microseconds of the board since the acknowledged start; None before the first start."""

    def events(self) -> Iterator[LiveEvent]:
        """Run from opening to Finished. Blocks; call it once, from a worker thread.

        Everything that can go wrong with the board or the port comes as an event and never as an exception;
        FileExistsError and OSError of the recording's own file do come as exceptions, before anything is opened.
        """

    def stop(self) -> None:
        """End the run soon: the board is stopped, what there is is judged, Finished comes."""

    def add_mark(
        self,
        do: Deed,
        *,
        key: str | None = None,
        zone: str | None = None,
        tail: str | None = None,
        text: str | None = None,
        at_us: int | None = None,
    ) -> None:
        """Mark what the operator does now (or did at run time `at_us`); before the start it counts as at 0."""

    def set_label(self, label: str) -> None:
        """Name the keyboard, also after the start."""

    def state_every_key_pressed(self, stated: bool = True) -> None:
        """State that the operator pressed every key at least once (or take that back)."""

    def document(self) -> dict[str, Any]:
        """The findings so far: the judgement of the recording as it stands at this moment."""
