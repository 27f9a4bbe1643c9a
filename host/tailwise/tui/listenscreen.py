"""The base of screens that listen to a board without a layout: learning, how it sits, raw lines."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Footer, Static
from textual.worker import Worker, WorkerState

from tailwise.learn.bare import bare_layout
from tailwise.live.events import (
    BoardRestarted,
    Connected,
    Connecting,
    Finished,
    LinesChecked,
    LinkDown,
    LinkUp,
    LiveEvent,
    Refused,
    Started,
)
from tailwise.live.run import RunSettings
from tailwise.recording.format import Record
from tailwise.tui.choices import Place
from tailwise.tui.feed import AnyRun, Looked, RunFeed, Told
from tailwise.words import app as words

USUAL_LINES = 24
"""Board lines taken at first; a board with more or fewer is started anew with its own number."""


@dataclass(frozen=True)
class Listening:
    """What every listening screen needs: how runs are made, where, and what the user changed.

    record: folder of recordings, None to keep none. keys: bindings given other keys. plain: no colour.
    """

    make_run: Callable[[RunSettings], AnyRun]
    place: Place
    record: Path | None
    keys: Mapping[str, str]
    plain: bool


class ListenScreen(Screen[None]):
    """Title, prompt, alert, a body of its own, status, keys. Subclasses say what is heard and shown."""

    def __init__(self, setting: Listening, head: str) -> None:
        super().__init__()
        self.setting = setting
        self.lines = USUAL_LINES
        self.over = False
        self.board_id: bytes | None = None
        self.feed: RunFeed | None = None
        self.finished: Finished | None = None
        self._head = head
        self._alert = ""
        self._link = words.STARTING
        self._board = ""
        self._again_with: int | None = None
        self._shown: dict[str, str] = {}
        self._then: Callable[[], object] | None = None

    def listen(self, lines: int) -> None:
        """Get ready to hear a board with this many lines."""

    def hear(self, record: Record) -> None:
        """One record of the run, in the run's own thread."""

    def body(self) -> ComposeResult:
        """What stands between prompt and status."""
        yield Widget()

    def show(self) -> None:
        """Bring prompt and body up to date."""

    def compose(self) -> ComposeResult:
        """From top to bottom."""
        yield Static(Text.assemble(("tailwise", "bold reverse"), "  ", self._head), id="title")
        with Vertical(id="prompt"):
            yield Static(id="ask")
            yield Static(id="more")
            yield Static(id="hint", classes="hint")
        yield Static(id="alert")
        yield from self.body()
        yield Static(id="status", classes="hint")
        yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        """Start listening."""
        self._begin()
        self.show_all()

    def on_unmount(self) -> None:
        """Whatever closes the screen ends the run."""
        if self.feed is not None and not self.over:
            self.feed.run.stop()

    def on_resize(self) -> None:
        """Panels depend on the width."""
        self.call_after_refresh(self.show_all)

    def end(self, then: Callable[[], object] | None = None) -> None:
        """End the run; `then` is called once the port is free again."""
        self._then = then
        if self.over:
            self._follow()
        elif self.feed is not None:
            self.feed.run.stop()

    def on_looked(self, message: Looked) -> None:
        """A newer look at the board."""
        if self.feed is not None:
            self.feed.newest()
        self.show_all()

    def on_told(self, message: Told) -> None:
        """The run told something."""
        self._tell(message.event)
        self.show_all()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """The run's thread has ended: the port is free; a failure is shown."""
        if event.worker.name != "run" or event.state not in (WorkerState.SUCCESS, WorkerState.ERROR):
            return
        if event.state is WorkerState.ERROR and event.worker.error is not None:
            error = event.worker.error
            self._alert = words.failed(type(error).__name__, str(error))
        elif self._again_with is not None:
            self.lines, self._again_with = self._again_with, None
            self._begin()
            return
        self.over = True
        self._link = words.ENDED
        self.refresh_bindings()
        self.show_all()
        self._follow()

    def show_all(self) -> None:
        """Alert, status and whatever the subclass shows."""
        if not self.is_mounted:
            return
        self.put("alert", Text(self._alert))
        self.put("status", Text("   ".join(text for text in (self._link, self._board) if text)))
        self.show()

    def prompt(self, ask: str, more: str, hint: Text | str = "") -> None:
        """The three lines of the prompt."""
        self.put("ask", Text(ask))
        self.put("more", Text(more))
        self.put("hint", hint if isinstance(hint, Text) else Text(hint))

    def put(self, name: str, text: Text) -> None:
        """A panel's text, drawn again only where it changed."""
        key = f"{text.plain}\0{text.spans}"
        if self._shown.get(name) == key:
            return
        self._shown[name] = key
        panel = self.query_one(f"#{name}", Static)
        panel.display = bool(text.plain) or name in ("more", "hint")
        panel.update(text)

    def _begin(self) -> None:
        self.listen(self.lines)
        place = self.setting.place
        settings = RunSettings(
            url=place.url,
            layout=bare_layout(self.lines),
            record=self.setting.record,
            realtime=place.practice,
            regain_s=None,
            heard=self.hear,
        )
        self.feed = RunFeed(self.setting.make_run(settings), self.post_message)
        self.run_worker(self.feed.work, name="run", thread=True, exit_on_error=False)

    def _tell(self, event: LiveEvent) -> None:
        match event:
            case Connecting(url=url):
                self._link = words.connecting(url)
            case Connected(identity=who):
                self.board_id = who.unique_id
                self._board = words.connected(who.board, f"{who.firmware_major}.{who.firmware_minor}.{who.firmware_patch}")
                if who.line_count != self.lines and self.feed is not None:
                    self._again_with = who.line_count
                    self.feed.run.stop()
            case LinesChecked(held_lines=lines) if lines:
                self._alert = words.held(lines)
            case Started(again=again):
                self._link, self._alert = words.started(again), ""
            case LinkDown(why=why, next_step=step):
                self._alert = words.link_lost(why, step)
            case LinkUp(url=url):
                self._link, self._alert = words.link_back(url), ""
            case BoardRestarted(why=why):
                self._alert = words.board_restarted(why)
            case Refused(reason=reason, likely=likely, next_step=step) if self._again_with is None:
                self._link, self._alert = words.STOPPED, words.refused(reason, likely, step)
            case Finished():
                self.finished = event

    def _follow(self) -> None:
        then, self._then = self._then, None
        if then is not None:
            then()
