"""A scripted run for screens that listen: an ideal board's records go to whoever hears."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from tailwise.live.events import Connected, Connecting, Started
from tailwise.live.run import RunSettings
from tailwise.model.layout import Layout
from tailwise.tui.app import TailwiseApp
from tests.observe.board import MS, Board
from tests.tui.scripted import BOARD, LAYOUT, PORT, ScriptedRun, small_offers

EACH_US = 300 * MS


@dataclass
class HeardRun(ScriptedRun):
    """Plays presses of the keyboard `sits`; every look hands over the records of all presses not heard before."""

    sits: Layout = LAYOUT
    made_with: list[RunSettings] = field(default_factory=list)
    pressed: list[str] = field(default_factory=list)
    _heard: int = 0

    def made(self, settings: RunSettings) -> ScriptedRun:
        """What the app calls to make its run."""
        self.made_with.append(settings)
        self.stopped = False
        return super().made(settings)

    def begin_to_listen(self, **identity: Any) -> None:
        """Connect, start, and let the rest pass."""
        self.tell(Connecting(PORT.device), Connected(replace(BOARD, **identity)), Started(0))
        self.hear_presses()

    def hear_presses(self, *keys: str) -> None:
        """These keys are pressed, one after the other."""
        assert self.settings is not None and self.settings.heard is not None
        self.pressed += keys
        board = Board(self.sits)
        for number, key in enumerate(self.pressed):
            board.press(key, 2_500 * MS + number * EACH_US)
        records = board.records(2_480 * MS + len(self.pressed) * EACH_US)
        for record in records[self._heard :]:
            self.settings.heard(record)
        self._heard = len(records)
        self.look()


def listening_app(run: ScriptedRun, **more: Any) -> TailwiseApp:
    """The app at its first screen, with one harness."""
    return TailwiseApp(make_run=run.made, ports=lambda: [PORT], offers=small_offers, **more)
