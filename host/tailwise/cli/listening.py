"""A run on a board without a layout, for the commands that learn: every line the board has is watched."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from tailwise.cli.stopping import stopped_by_signals
from tailwise.cli.story import tell
from tailwise.learn.bare import bare_layout
from tailwise.live.events import Connected, Finished, Progress, Refused
from tailwise.live.run import Run, RunSettings
from tailwise.model.layout import Layout
from tailwise.model.mark import Mark
from tailwise.recording.format import Record

USUAL_LINES = 24
"""Lines taken at first, where nobody says how many; a board with another number is started anew with its own."""


class Talk(Protocol):
    """What hears the records and knows when it is over."""

    def hear(self, record: Record) -> None:
        """One record of the run."""

    @property
    def over(self) -> bool:
        """Found out, or told to stop."""


@dataclass(frozen=True)
class Heard:
    """The board's unique id, and whether the run was refused."""

    board: bytes
    refused: bool


def listen(
    url: str,
    lines: int | None,
    begin: Callable[[int], Talk],
    make_run: Callable[[RunSettings], Run] = Run,
    marks: Callable[[Layout], tuple[Mark, ...] | None] = lambda _: None,
) -> Heard:
    """Run until the talk is over or the link ends. begin: makes the talk for a number of lines. marks: those of a file."""
    taken = lines or USUAL_LINES
    while True:
        talk = begin(taken)
        layout = bare_layout(taken)
        run = make_run(RunSettings(url=url, layout=layout, marks=marks(layout), heard=talk.hear))
        board, refused, other = b"", False, None
        with stopped_by_signals(run.stop):
            for event in run.events():
                if isinstance(event, Connected):
                    board = event.identity.unique_id
                    if lines is None and event.identity.line_count != taken:
                        other = event.identity.line_count
                        run.stop()
                refused = refused or isinstance(event, Refused)
                if not isinstance(event, Progress | Finished) and not (other is not None and isinstance(event, Refused)):
                    tell(event)
                if talk.over:
                    run.stop()
        if other is None:
            return Heard(board, refused)
        taken = other
