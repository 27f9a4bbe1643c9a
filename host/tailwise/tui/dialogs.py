"""Small screens that ask or tell one thing: cautions, help, the line to watch."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from tailwise.tui.keys import keys_file
from tailwise.words import app as words
from tailwise.words import stages as stage_words


class Cautions(ModalScreen[bool]):
    """What can hurt the keyboard or the operator; True where it was read."""

    BINDINGS = [
        Binding("enter,space", "go_on(True)", "understood", id="cautions_read"),
        Binding("escape", "go_on(False)", "back", id="cautions_back"),
    ]

    def compose(self) -> ComposeResult:
        """The cautions, one below the other."""
        with VerticalScroll(classes="dialog"):
            yield Static(words.CAUTIONS_TITLE, classes="title")
            for caution in words.CAUTIONS:
                yield Static(Text.assemble(("◆ ", "bold"), caution), classes="item")
            yield Static(words.CAUTIONS_HINT, classes="hint")

    def action_go_on(self, read: bool) -> None:
        """Close with the answer."""
        self.dismiss(read)


class Help(ModalScreen[None]):
    """Every sign of the map and every key."""

    BINDINGS = [Binding("escape,f1,enter", "close", "close", id="help_close")]

    def __init__(self, keys: Sequence[tuple[str, str, str]]) -> None:
        """keys: what to hit, what it does, its name for the keys file."""
        super().__init__()
        self._keys = keys

    def compose(self) -> ComposeResult:
        """Signs first, then keys."""
        signs = Text()
        for state, meaning in stage_words.STATE_MEANINGS.items():
            sign, word = stage_words.SYMBOLS[state], stage_words.STATE_WORDS[state]
            signs.append(f"{sign} {word}  ", "bold")
            signs.append(meaning + "\n")
        keys = Text()
        for hit, does, name in self._keys:
            keys.append(f"{hit:<14}", "bold")
            keys.append(f"{does}  [{name}]\n")
        with VerticalScroll(classes="dialog"):
            yield Static(words.HELP_TITLE, classes="title")
            yield Static(words.HELP_SIGNS, classes="hint")
            yield Static(signs)
            yield Static(words.HELP_KEYS, classes="hint")
            yield Static(keys)
            yield Static(Text(words.help_remap(str(keys_file()))), classes="hint")
            yield Static(words.HELP_CLOSE, classes="hint")

    def action_close(self) -> None:
        """Close."""
        self.dismiss(None)


class LinePicker(ModalScreen[str | None]):
    """Choose the line to watch."""

    BINDINGS = [Binding("escape", "close", "leave", id="line_close")]

    def __init__(self, choices: Sequence[tuple[str, str]], likely: str | None) -> None:
        """choices: line and what is known of it; likely stands under the cursor."""
        super().__init__()
        self._choices = choices
        self._likely = likely

    def compose(self) -> ComposeResult:
        """The lines as a list."""
        with Vertical(classes="dialog"):
            yield Static(words.PICK_LINE, classes="title")
            yield OptionList(*(Option(Text(text), id=line) for line, text in self._choices), id="lines")
            yield Static(words.PICK_HINT, classes="hint")

    def on_mount(self) -> None:
        """The likely line under the cursor."""
        lines = self.query_one("#lines", OptionList)
        names = [line for line, _ in self._choices]
        if self._likely in names:
            lines.highlighted = names.index(self._likely)
        lines.focus()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Watch it."""
        self.dismiss(event.option.id)

    def action_close(self) -> None:
        """Choose nothing."""
        self.dismiss(None)
