"""A keyboard nobody described: the raw matrix, joined and flickering lines."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from tailwise.learn.raw import RawWatch
from tailwise.recording.format import Record
from tailwise.tui.bindings import RAW_KEYS
from tailwise.tui.listenscreen import Listening, ListenScreen
from tailwise.tui.rawmap import legend, raw_map
from tailwise.tui.verdictscreen import Another
from tailwise.words import raw as words


class RawScreen(ListenScreen):
    """Shows readings and claims nothing about keys."""

    BINDINGS = RAW_KEYS

    def __init__(self, setting: Listening) -> None:
        super().__init__(setting, f"{words.HEAD}   {setting.place.url}")
        self.raw = RawWatch(self.lines)

    def listen(self, lines: int) -> None:
        """A watch for this many lines."""
        self.raw = RawWatch(lines)

    def hear(self, record: Record) -> None:
        """To the watch."""
        self.raw.hear(record)

    def body(self) -> ComposeResult:
        """The matrix, and what its signs mean."""
        with VerticalScroll(id="raw"):
            yield Static(id="matrix")
        yield Static(id="legend")

    def show(self) -> None:
        """What the watch's picture says."""
        now = self.raw.picture()
        closed = now.closed_now
        ask = words.RESTING if now.resting else words.closed_now(closed) if closed else words.PRESS
        if self.over:
            ended = self.finished.recording if self.finished is not None else None
            ask = words.OVER if ended is None else f"{words.OVER} {words.recorded(str(ended))}"
        stuck = words.stuck(sorted(now.stuck)) if now.stuck else words.NO_STUCK
        flicker = words.flickering(now.line_flickers) if now.flickers else words.NO_FLICKER
        if now.resting:
            self.prompt(ask, "")
        else:
            self.prompt(ask, f"{stuck} {words.never(now.never)}", flicker)
        space = self.query_one("#raw", VerticalScroll).size
        self.put("matrix", raw_map(now, space.width - 2, space.height, plain=self.setting.plain))
        self.put("legend", legend(plain=self.setting.plain))

    def action_afresh(self) -> None:
        """Forget what was seen."""
        self.raw.afresh()
        self.show_all()

    def action_another(self) -> None:
        """Choose anew."""
        self.end(lambda: self.post_message(Another()))
