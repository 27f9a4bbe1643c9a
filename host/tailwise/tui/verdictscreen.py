"""The verdict page: what is broken, where, how sure, what else it could be, why, and what to do next."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Footer, Static

from tailwise.model.layout import Layout
from tailwise.tui.bindings import VERDICT_KEYS
from tailwise.tui.verdictpage import verdict_page
from tailwise.words import app as words
from tailwise.words import verdictpage as page_words


class End(Message):
    """The operator ends the run."""


class Another(Message):
    """The operator wants to test another keyboard."""


class VerdictScreen(Screen[str | None]):
    """The judgement so far, or the last word."""

    BINDINGS = VERDICT_KEYS

    def __init__(self, layout: Layout, *, plain: bool) -> None:
        super().__init__()
        self._layout_tested = layout
        self._plain = plain
        self._text = Text(words.JUDGING)
        self._foot = ""
        self.document: Mapping[str, Any] | None = None
        self.final = False
        self._note = ""

    def compose(self) -> ComposeResult:
        """One page that scrolls."""
        yield Static(id="alert")
        with VerticalScroll(id="page"):
            yield Static(self._text, id="verdict")
        yield Static(self._foot, id="foot", classes="hint")
        yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        """The page takes the arrow keys."""
        self._draw()
        self.query_one("#page", VerticalScroll).focus()

    def on_resize(self) -> None:
        """Bars and wrapping follow the width."""
        self._draw()

    def show(self, document: Mapping[str, Any], *, final: bool, recording: Path | None = None, note: str = "") -> None:
        """Show a findings document; `final` after the end of the run; `note`: what stopped it."""
        self.document, self.final, self._note = document, final, note
        where = words.recorded(str(recording)) if recording is not None else ""
        self._foot = page_words.FINAL + where if final else page_words.SO_FAR
        self.refresh_bindings()
        self._draw()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Ending belongs to a run that goes on, another keyboard to one that ended."""
        if action == "end":
            return not self.final
        return action != "another" or self.final

    def action_back(self) -> None:
        """Back to the test."""
        self.dismiss(None)

    def action_end(self) -> None:
        """End the run; the last word comes by itself."""
        self._foot = words.STOPPING
        self._draw()
        self.post_message_up(End())

    def action_another(self) -> None:
        """Test another keyboard."""
        self.dismiss("another")

    def post_message_up(self, message: Message) -> None:
        """To the screen below, which owns the run."""
        self.app.screen_stack[-2].post_message(message)

    def _draw(self) -> None:
        if not self.is_mounted:
            return
        if self.document is not None:
            self._text = verdict_page(self.document, self._layout_tested, max(20, self.size.width - 6), plain=self._plain)
        self.query_one("#verdict", Static).update(self._text)
        note = self.query_one("#alert", Static)
        note.update(Text(self._note))
        note.display = bool(self._note)
        self.query_one("#foot", Static).update(self._foot)
