"""The walk over an unknown keyboard: asks for each drawn key and shows what was learned on the map."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from tailwise.harness.wiring import Wiring
from tailwise.learn.drawing import drawn_layout
from tailwise.learn.lesson import Lesson
from tailwise.learn.sitting import LessonPicture, Sitting
from tailwise.model.layout import Layout
from tailwise.recording.format import Record
from tailwise.tui.bindings import LEARN_KEYS, hints_text
from tailwise.tui.connect import Chosen
from tailwise.tui.listenscreen import Listening, ListenScreen
from tailwise.tui.mapview import MapView
from tailwise.tui.paint import signs, state_values
from tailwise.tui.savescreen import SaveScreen
from tailwise.tui.theme import PLAIN_STYLES, STATE_STYLES
from tailwise.tui.verdictscreen import Another
from tailwise.words import learnscreens as words

SHOWN_SIGNS = ("todo", "asked", "seen", "mute", "skipped", "doubt")


class KeyPicker(ModalScreen[str | None]):
    """Choose the key to ask for now."""

    BINDINGS = [Binding("escape", "close", "leave", id="line_close")]

    def __init__(self, choices: Sequence[tuple[str, str]], first: str | None) -> None:
        """choices: key and what is known of it."""
        super().__init__()
        self._choices = choices
        self._first = first

    def compose(self) -> ComposeResult:
        """The keys as a list."""
        with Vertical(classes="dialog"):
            yield Static(words.PICK_KEY, classes="title")
            yield OptionList(*(Option(Text(text)) for _, text in self._choices), id="keys")
            yield Static(words.PICK_HINT, classes="hint")

    def on_mount(self) -> None:
        """The key asked for now under the cursor."""
        listed = self.query_one("#keys", OptionList)
        names = [key for key, _ in self._choices]
        if self._first in names:
            listed.highlighted = names.index(self._first)
        listed.focus()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Ask for it."""
        self.dismiss(self._choices[event.option_index][0])

    def action_close(self) -> None:
        """Choose nothing."""
        self.dismiss(None)


class LearnScreen(ListenScreen):
    """A sitting of a lesson."""

    BINDINGS = LEARN_KEYS

    def __init__(self, setting: Listening, lesson: Lesson, keep: Path | None) -> None:
        """keep: the lesson's file."""
        super().__init__(setting, f"{words.LEARN_HEAD}: {lesson.title}   {setting.place.url}")
        self.lesson = lesson
        self._keep = keep
        self._styles = PLAIN_STYLES if setting.plain else STATE_STYLES
        self.sitting = Sitting(lesson, self.lines, keep)

    def listen(self, lines: int) -> None:
        """A sitting on a board with this many lines."""
        self.sitting = Sitting(self.lesson, lines, self._keep)

    def hear(self, record: Record) -> None:
        """To the sitting."""
        self.sitting.hear(record)

    def body(self) -> ComposeResult:
        """The map, the last reading, the signs."""
        yield MapView(drawn_layout(self.lesson.drawn), self._styles, id="map")
        yield Static(id="last")
        yield Static(id="signs")

    def show(self) -> None:
        """What the sitting's picture says."""
        now = self.sitting.picture()
        self._prompt(now)
        self.query_one("#map", MapView).show(state_values(now.states), now.asking)
        told = [words.progress(now.found, now.total)]
        if now.last is not None:
            told.append(words.last(*now.last))
        if now.uncertain:
            told.append(words.UNCERTAIN)
        if now.joined:
            told.append(words.joined(now.joined))
        self.put("last", Text("   ".join(told), no_wrap=True, overflow="ellipsis"))
        self.put("signs", signs(self.size.width - 2, SHOWN_SIGNS))

    def _prompt(self, now: LessonPicture) -> None:
        hints = hints_text((*words.LEARN_HINTS,), self.setting.keys)
        if self.over:
            self.prompt(words.ALL_ASKED if now.finished else words.STOPPED, words.ALL_ASKED_MORE)
        elif now.named:
            self.prompt(words.NAMED, words.NAMED_MORE)
        elif now.resting:
            self.prompt(words.RESTING, words.RESTING_MORE)
        elif now.asking is None:
            self.prompt(words.ALL_ASKED, words.ALL_ASKED_MORE, hints)
        else:
            more = words.OWN_ORDER if self.setting.place.operated else words.ASK_MORE
            self.prompt(words.ask(now.asking), more, hints)

    def action_nothing(self) -> None:
        """Pressed, nothing happened."""
        self.sitting.nothing_happened()
        self.show_all()

    def action_skip(self) -> None:
        """Leave this key out."""
        self.sitting.skip()
        self.show_all()

    def action_again(self) -> None:
        """Take the last answer back."""
        self.sitting.take_back()
        self.show_all()

    def action_key(self) -> None:
        """Choose the key to ask for."""
        choices = [(key.id, words.key_choice(key.id, self.sitting.shown(key.id))) for key in self.lesson.drawn]
        self.app.push_screen(KeyPicker(choices, self.sitting.picture().asking), self._asked_for)

    def action_learned(self) -> None:
        """What was learned, to be saved; learning can go on afterwards."""
        if self.over:
            self.sitting.close()
        self.app.push_screen(
            SaveScreen(self.sitting.result(), self.lesson.title, self._board_to_keep(), plain=self.setting.plain), self._saved
        )

    def action_another(self) -> None:
        """Choose anew; the lesson is kept."""
        self.end(lambda: self.post_message(Another()))

    def _asked_for(self, key: str | None) -> None:
        if key is not None:
            self.sitting.ask_for(key)
            self.show_all()

    def _board_to_keep(self) -> bytes | None:
        return None if self.setting.place.practice else self.board_id

    def _saved(self, layout: Layout | None) -> None:
        if layout is None:
            return
        place, lines = self.setting.place, self.sitting.result().board_line
        wiring = Wiring(dict(lines)) if set(lines) == set(layout.lines) else None
        self.end(lambda: self.post_message(Chosen(place, layout, "", wiring)))
