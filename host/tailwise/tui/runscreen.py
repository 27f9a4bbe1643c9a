"""The screen of a run: prompt, live key map, lines or flex watch, link. It shows what the procedure says and no more."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from rich.style import Style
from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Footer, Static
from textual.worker import Worker, WorkerState

from tailwise.live.events import (
    BoardRestarted,
    Connected,
    Connecting,
    Finished,
    LinesChecked,
    LinkDown,
    LinkUp,
    LiveEvent,
    MarkMade,
    Refused,
    Started,
    Watching,
    WiringKept,
)
from tailwise.model.layout import Layout
from tailwise.model.observation import Pair
from tailwise.procedure.outcome import Command, Outcome
from tailwise.procedure.procedure import Procedure, Stage
from tailwise.procedure.sight import Sight, sight_of
from tailwise.tui import paint
from tailwise.tui.bindings import RUN_KEYS, hints_text
from tailwise.tui.dialogs import LinePicker
from tailwise.tui.feed import AnyRun, Looked, RunFeed, Told
from tailwise.tui.mapview import MapView
from tailwise.tui.sound import sounder
from tailwise.tui.theme import PLAIN_STYLES, PLAIN_TRACES, STATE_STYLES, TRACE_STYLES
from tailwise.tui.verdictscreen import Another, End, VerdictScreen
from tailwise.tui.watchchoices import watch_choices
from tailwise.words import app as words
from tailwise.words import stages as stage_words

ROOMY_ROWS = 34
"""From this many rows on, lines are shown with the legends of their keys."""


STEADY = ("more", "hint")
"""Panels that keep their row when they are empty, so that the map does not jump."""


class Judged(Message):
    """The findings so far are there."""

    def __init__(self, document: dict[str, object]) -> None:
        super().__init__()
        self.document = document


class RunScreen(Screen[None]):
    """One run, from opening the port to its verdict."""

    BINDINGS = RUN_KEYS

    def __init__(
        self, run: AnyRun, layout: Layout, head: str, *, vouches: bool, plain: bool, keys: Mapping[str, str], story: str = ""
    ) -> None:
        """head: what the title says. vouches: False where another operator makes the marks. plain: no colour.

        keys: bindings that the user gave other keys. story: what a practice scenario tells.
        """
        super().__init__()
        self.run_feed = RunFeed(run, self.post_message)
        self.procedure = Procedure(layout, vouches, story)
        self.finished: Finished | None = None
        self.error = ""
        self._head = head
        self._keys = keys
        self._styles = PLAIN_STYLES if plain else STATE_STYLES
        self._traces: Sequence[Style] = PLAIN_TRACES if plain else TRACE_STYLES
        self._alert = ""
        self._link = words.STARTING
        self._board = ""
        self._shown: dict[str, str] = {}
        self._verdict: VerdictScreen | None = None
        self._watched: tuple[Pair, ...] = ()
        self._sounder = sounder(lambda: self.app.bell())

    @property
    def running(self) -> bool:
        """The run has neither ended nor failed."""
        return self.finished is None and not self.error

    def compose(self) -> ComposeResult:
        """From top to bottom: title, stages, prompt, alert, map, lines, signs, status, keys."""
        yield Static(Text.assemble(("tailwise", "bold reverse"), "  ", self._head), id="title")
        yield Static(id="ribbon")
        with Vertical(id="prompt"):
            yield Static(id="ask")
            yield Static(id="more")
            yield Static(id="hint", classes="hint")
        yield Static(id="alert")
        yield MapView(self.procedure.layout, self._styles, id="map")
        yield Static(id="lines")
        yield Static(id="strip")
        yield Static(id="tallies")
        yield Static(id="signs")
        yield Static(id="status", classes="hint")
        yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        """Start the run in a thread of its own."""
        self.show_all()
        self.run_worker(self.run_feed.work, name="run", thread=True, exit_on_error=False)

    def on_unmount(self) -> None:
        """Whatever closes the screen ends the run."""
        self.run_feed.run.stop()
        self._sounder.close()

    def on_resize(self) -> None:
        """Panels depend on the width."""
        self.call_after_refresh(self.show_all)

    def on_looked(self, message: Looked) -> None:
        """A newer look at the board."""
        newest = self.run_feed.newest()
        if newest is not None:
            stage = self.procedure.stage
            self._take(self.procedure.see(sight_of(newest.snapshot)))
            self.show_all()
            if stage is not self.procedure.stage:
                self.refresh_bindings()

    def on_told(self, message: Told) -> None:
        """The run told something."""
        self.tell(message.event)
        self.show_all()

    def tell(self, event: LiveEvent) -> None:
        """What an event means for status and alert."""
        match event:
            case Connecting(url=url):
                self._link = words.connecting(url)
            case Connected(identity=who):
                self._board = words.connected(who.board, f"{who.firmware_major}.{who.firmware_minor}.{who.firmware_patch}")
            case WiringKept(how=how):
                self._board = words.with_wiring(self._board, how)
            case LinesChecked(held_lines=lines) if lines:
                self._alert = words.held(lines)
            case Started(again=again):
                self._link, self._alert = words.started(again), ""
            case Watching(why_not=why):
                self._alert = why
            case MarkMade(mark=mark):
                self._take(self.procedure.hear(mark))
            case LinkDown(why=why, next_step=step):
                self._link = stage_words.LINK_DOWN
                self._alert = words.link_lost(why, step)
                self._take(self.procedure.see(self._unlinked()))
            case LinkUp(url=url):
                self._link, self._alert = words.link_back(url), ""
            case BoardRestarted(why=why):
                self._alert = words.board_restarted(why)
            case Refused(reason=reason, likely=likely, next_step=step):
                self._link, self._alert = words.STOPPED, words.refused(reason, likely, step)
            case Finished():
                self._finish(event)
                self.refresh_bindings()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """A worker that failed is shown, never swallowed."""
        if event.state is WorkerState.ERROR and event.worker.error is not None:
            error = event.worker.error
            self._alert = words.failed(type(error).__name__, str(error))
            if event.worker.name == "run":
                self.error = self._alert
                self._link = words.STOPPED
                self.refresh_bindings()
            self.log.error(self._alert)
            self.show_all()

    def on_judged(self, message: Judged) -> None:
        """Show the findings so far, unless the end was quicker."""
        if self._verdict is not None and self.running:
            self._verdict.show(message.document, final=False)

    def on_end(self, message: End) -> None:
        """The operator ends the run."""
        self.run_feed.run.stop()

    def action_nothing(self) -> None:
        """Pressed, nothing happened."""
        self._command(Command.NOTHING)

    def action_skip(self) -> None:
        """Skip the asked key."""
        self._command(Command.SKIP)

    def action_again(self) -> None:
        """Ask the last key again."""
        self._command(Command.BACK)

    def action_it_was(self) -> None:
        """It was the asked key that was pressed."""
        self._command(Command.IT_WAS)

    def action_next(self) -> None:
        """Next step of the flex watch."""
        self._command(Command.NEXT)

    def action_alone(self) -> None:
        """Leave the film alone."""
        self._command(Command.CONTROL)

    def action_reseated(self) -> None:
        """The tail was reseated."""
        self._command(Command.RESEAT)

    def action_walk(self) -> None:
        """Go to the press walk."""
        self._go(Stage.WALK)

    def action_flex(self) -> None:
        """Go to the flex watch; without a line, choose one."""
        if self.procedure.flex is None:
            self.action_line()
        else:
            self._go(Stage.FLEX)

    def action_line(self) -> None:
        """Choose the line to watch."""
        choices, likely = watch_choices(self.procedure)
        self.app.push_screen(LinePicker(choices, likely), self._watch)

    def action_another(self) -> None:
        """Another keyboard, once this run is over."""
        self.post_message(Another())

    def action_verdict(self) -> None:
        """The verdict: the last word after the end, so far before it."""
        if not self.procedure.rest.done and self.running:
            self.notify(words.REST_FIRST, severity="warning")
            return
        if self.error:
            self.notify(self.error, severity="error")
            return
        self._go(Stage.VERDICT)
        self._show_verdict()
        if self.finished is None:
            self.run_worker(self._judge, name="judge", thread=True, exit_on_error=False)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only keys that mean something in this stage are offered."""
        if action == "another":
            return not self.running
        if action in ("line", "walk", "flex") and not self.running:
            return False
        stages = {
            "nothing": Stage.WALK,
            "skip": Stage.WALK,
            "again": Stage.WALK,
            "it_was": Stage.WALK,
            "next": Stage.FLEX,
            "alone": Stage.FLEX,
            "reseated": Stage.FLEX,
        }
        wanted = stages.get(action)
        return wanted is None or (self.procedure.stage is wanted and self.procedure.vouches)

    def show_all(self) -> None:
        """Bring every panel up to date; those that did not change are left alone."""
        if not self.is_mounted:
            return
        procedure, width = self.procedure, self.size.width - 2
        prompt = procedure.prompt()
        watching = procedure.stage is Stage.FLEX and procedure.flex is not None
        states = paint.state_values(procedure.states())
        self._put("ribbon", paint.ribbon(procedure.stage))
        self._put("ask", Text(prompt.text))
        self._put("more", Text(prompt.more))
        self._put("hint", hints_text(prompt.hints, self._keys))
        self._put("alert", Text(self._alert))
        roomy = self.size.height >= ROOMY_ROWS
        self._put("lines", Text() if watching else paint.lines_panel(procedure, states, self._styles, width, roomy))
        if watching and procedure.flex is not None:
            self._put("strip", paint.strip(procedure.flex, width, self._traces))
            self._put("tallies", paint.tallies(procedure.flex, width))
        else:
            self._put("strip", Text())
            self._put("tallies", Text())
        self._put("signs", paint.signs(width))
        self._put("status", Text(self._status()))
        asked = procedure.asked_keys()
        marked = procedure.flex.keys if watching and procedure.flex is not None else ()
        self.query_one("#map", MapView).show(states, asked[0] if asked else None, marked)

    def _put(self, name: str, text: Text) -> None:
        key = f"{text.plain}\0{text.spans}"
        if self._shown.get(name) == key:
            return
        self._shown[name] = key
        panel = self.query_one(f"#{name}", Static)
        panel.display = bool(text.plain) or name in STEADY
        panel.update(text)

    def _status(self) -> str:
        sound = words.SOUND["off" if getattr(self.app, "muted", False) else self._sounder.kind]
        at = stage_words.seconds(self.procedure.sight.at_us)
        return "   ".join(text for text in (self._link, at, self._board, sound) if text)

    def _unlinked(self) -> Sight:
        return replace(self.procedure.sight, linked=False, down=frozenset(), doubtful=frozenset())

    def _command(self, command: Command) -> None:
        self._take(self.procedure.command(command))
        self.show_all()

    def _go(self, stage: Stage) -> None:
        self._take(self.procedure.go(stage))
        self.show_all()
        self.refresh_bindings()

    def _watch(self, line: str | None) -> None:
        if line is not None:
            self._take(self.procedure.watch_chosen(line))
            self.show_all()
            self.refresh_bindings()

    def _take(self, outcome: Outcome) -> None:
        for mark in outcome.marks:
            self.run_feed.run.add_mark(mark.do, key=mark.key, zone=mark.zone, tail=mark.tail, text=mark.text, at_us=mark.at_us)
        wanted = self.procedure.wanted_pairs
        if wanted != self._watched:
            self._watched = wanted
            self.run_feed.run.watch(wanted)
        if not getattr(self.app, "muted", False):
            self._sounder.make(outcome.sounds)

    def _judge(self) -> None:
        self.post_message(Judged(self.run_feed.run.document()))

    def _finish(self, event: Finished) -> None:
        self.finished = event
        self._link = words.ENDED
        self._go(Stage.VERDICT)
        self._show_verdict()
        if self._verdict is not None:
            self._verdict.show(event.document, final=True, recording=event.recording, note=self._alert)

    def _show_verdict(self) -> None:
        if self._verdict is not None:
            return
        self._verdict = VerdictScreen(self.procedure.layout, plain=self._styles is PLAIN_STYLES)
        if self.finished is not None:
            self._verdict.show(self.finished.document, final=True, recording=self.finished.recording, note=self._alert)
        self.app.push_screen(self._verdict, self._verdict_left)

    def _verdict_left(self, what: str | None) -> None:
        self._verdict = None
        if what == "another":
            self.post_message(Another())
        elif self.running:
            self._go(Stage.WALK)
