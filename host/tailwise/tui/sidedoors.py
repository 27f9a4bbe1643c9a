"""The ways from the first screen to everything that is not a test: learning, raw lines, how it sits, the ledger."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

from textual.app import App

from tailwise.learn.keeping import lesson_path, open_lessons
from tailwise.live.run import RunSettings
from tailwise.tui.connect import Door, Wanted
from tailwise.tui.connectionscreen import ConnectionScreen
from tailwise.tui.drawscreen import Begun, DrawScreen
from tailwise.tui.feed import AnyRun
from tailwise.tui.learnscreen import LearnScreen
from tailwise.tui.listenscreen import Listening
from tailwise.tui.rawscreen import RawScreen


class SideDoors:
    """Opens the screens for an app."""

    def __init__(
        self, app: App[int], make_run: Callable[[RunSettings], AnyRun], record: Path | None, keys: Mapping[str, str]
    ) -> None:
        """record: folder of recordings. keys: bindings the user gave other keys."""
        self._app = app
        self._make_run = make_run
        self._record = record
        self._keys = keys

    def open(self, wanted: Wanted) -> None:
        """Open the screen; the cautions have been read."""
        setting = Listening(self._make_run, wanted.place, self._record, self._keys, self._app.no_color)
        if wanted.door is Door.RAW:
            self._app.push_screen(RawScreen(setting))
        elif wanted.door is Door.CONNECTION and wanted.layout is not None:
            self._app.push_screen(ConnectionScreen(setting, wanted.layout, wanted.label))
        else:
            first = wanted.layout if wanted.place.practice else None
            draw = DrawScreen(open_lessons, wanted.layouts, first, plain=self._app.no_color)
            self._app.push_screen(draw, partial(self._learn, setting))

    def _learn(self, setting: Listening, begun: Begun | None) -> None:
        if begun is not None:
            lesson, path = begun
            self._app.push_screen(LearnScreen(setting, lesson, path if path is not None else lesson_path(lesson.title)))
