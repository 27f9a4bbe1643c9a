"""The connection assistant: asks for a few keys of a known keyboard and says how its tails sit."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.widgets import Static

from tailwise.learn.assistant import ConnectionAssistant, Picture
from tailwise.learn.settle import Settled, forget, settle
from tailwise.model.layout import Layout
from tailwise.recording.format import Record
from tailwise.tui.bindings import CONNECTION_KEYS, hints_text
from tailwise.tui.connect import Chosen
from tailwise.tui.listenscreen import Listening, ListenScreen
from tailwise.tui.mapview import MapView
from tailwise.tui.paint import signs, state_values
from tailwise.tui.theme import PLAIN_STYLES, STATE_STYLES
from tailwise.tui.verdictscreen import Another
from tailwise.words import connecting as words

SHOWN_SIGNS = ("todo", "asked", "seen", "mute", "skipped")


class ConnectionScreen(ListenScreen):
    """One asking, from the rest check to how the keyboard sits."""

    BINDINGS = CONNECTION_KEYS

    def __init__(self, setting: Listening, layout: Layout, label: str) -> None:
        """label: of the keyboard, for the test that may follow."""
        super().__init__(setting, f"{words.ON_THE_TITLE}   {layout.title}   {setting.place.url}")
        self.layout_asked = layout
        self._label = label
        self._styles = PLAIN_STYLES if setting.plain else STATE_STYLES
        self.assistant = ConnectionAssistant(layout, self.lines)
        self.settled: Settled | None = None

    def listen(self, lines: int) -> None:
        """An assistant on a board with this many lines."""
        self.assistant = ConnectionAssistant(self.layout_asked, lines)

    def hear(self, record: Record) -> None:
        """To the assistant."""
        self.assistant.hear(record)

    def body(self) -> ComposeResult:
        """What was found, the map, the last reading, the signs."""
        yield Static(id="found")
        yield MapView(self.layout_asked, self._styles, id="map")
        yield Static(id="last")
        yield Static(id="signs")

    def show(self) -> None:
        """What the assistant's picture says; once it is found the run ends and the wiring is kept."""
        now = self.assistant.picture()
        if now.found is not None and self.settled is None:
            self._settle(now)
        self._prompt(now)
        self.query_one("#map", MapView).show(state_values(now.states), now.asking)
        told = [words.saw(*now.last)] if now.last is not None else []
        told += [words.UNCERTAIN] if now.uncertain else []
        told += [words.joined(now.joined)] if now.joined else []
        self.put("last", Text("   ".join(told), no_wrap=True, overflow="ellipsis"))
        self.put("found", Text("\n".join(self.settled.said) if self.settled is not None else ""))
        self.put("signs", signs(self.size.width - 2, SHOWN_SIGNS))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A test can follow once it is settled."""
        return self.settled is not None if action == "test" else True

    def action_nothing(self) -> None:
        """Pressed, nothing happened."""
        self.assistant.nothing_happened()
        self.show_all()

    def action_skip(self) -> None:
        """This key cannot be pressed."""
        self.assistant.skip()
        self.show_all()

    def action_test(self) -> None:
        """Test the keyboard as it sits."""
        found = self.assistant.picture().found
        wiring = found.wiring if found is not None else None
        chosen = Chosen(self.setting.place, self.layout_asked, self._label, wiring)
        self.end(lambda: self.post_message(chosen))

    def action_forget(self) -> None:
        """The harness counts as plain for this keyboard again."""
        if self.board_id is None:
            return
        try:
            said = forget(self.layout_asked, self.board_id).said
        except OSError as error:
            said = (str(error),)
        self.notify("\n".join(said), markup=False)

    def action_another(self) -> None:
        """Choose anew."""
        self.end(lambda: self.post_message(Another()))

    def _settle(self, now: Picture) -> None:
        if now.found is None:
            return
        try:
            self.settled = settle(now.found, self.layout_asked, None if self.setting.place.practice else self.board_id)
        except OSError as error:
            self.settled = Settled((str(error),))
        self.end()
        self.refresh_bindings()

    def _prompt(self, now: Picture) -> None:
        if now.found is not None:
            self.prompt(words.found(now.found.how, now.found.presses), words.DONE_HINT)
        elif self.over:
            self.prompt(words.STOPPED, "")
        elif now.resting:
            self.prompt(words.RESTING, "")
        elif now.asking is None:
            self.prompt(words.ASKED_BY_MARKS, "")
        else:
            more = words.LINE_BY_LINE if now.line_by_line else words.asked_so_far(now.presses)
            more = words.OWN_ORDER if self.setting.place.operated else more
            self.prompt(words.ask_for(now.asking), more, hints_text(words.HINT_KEYS, self.setting.keys))
