"""Asks for a label, with a proposal that can be changed."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from tailwise.words import ledgerscreen as words


class LabelDialog(ModalScreen[str | None]):
    """Gives the label, None where the user leaves."""

    BINDINGS = [Binding("escape", "close", "leave", id="line_close")]

    def __init__(self, title: str, text: str, label: str, note: str = "") -> None:
        super().__init__()
        self._title = title
        self._text = text
        self._label = label
        self._note = note

    def compose(self) -> ComposeResult:
        """What is asked, and the proposal."""
        with Vertical(classes="dialog"):
            yield Static(self._title, classes="title")
            yield Static(Text(self._text), classes="item")
            yield Input(self._label, id="label-asked", compact=True)
            if self._note:
                yield Static(Text(self._note), classes="warning")
            yield Static(words.DIALOG_HINT, classes="hint")

    def on_mount(self) -> None:
        """Type or scan at once."""
        self.query_one("#label-asked", Input).focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take it where it is not empty."""
        if event.value.strip():
            self.dismiss(event.value.strip())

    def action_close(self) -> None:
        """Leave."""
        self.dismiss(None)
