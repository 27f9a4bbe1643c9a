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
from tailwise.words import ledgerscreen as ledger_words
from tailwise.words import verdictpage as page_words


class End(Message):
    """The operator ends the run."""


class Another(Message):
    """The operator wants to test another keyboard."""


class Keep(Message):
    """A finished run is to be saved in the ledger."""

    def __init__(self, screen: VerdictScreen, recording: Path, label: str, same_insertion: bool) -> None:
        super().__init__()
        self.screen = screen
        self.recording = recording
        self.label = label
        self.same_insertion = same_insertion


class PageWanted(Message):
    """The report of a finished run is to be written."""

    def __init__(self, screen: VerdictScreen, recording: Path, label: str) -> None:
        super().__init__()
        self.screen = screen
        self.recording = recording
        self.label = label


class NextWanted(Message):
    """The next keyboard is to be tested with the same harness and layout."""

    def __init__(self, label: str, saved: bool) -> None:
        """label: of the keyboard tested last."""
        super().__init__()
        self.label = label
        self.saved = saved


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
        self.recording: Path | None = None
        self.saved_as = ""
        self.same_insertion = False
        self._said = ""
        self._kept = ""
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
        self.recording = recording if final else None
        where = words.recorded(str(recording)) if recording is not None else ""
        self._foot = page_words.FINAL + where if final else page_words.SO_FAR
        self.refresh_bindings()
        self._draw()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Ending belongs to a run that goes on; saving, reports and the next keyboard to one that ended."""
        if action == "end":
            return not self.final
        return action not in ("another", "keep", "next_one", "page", "same_insertion", "app.ledger") or self.final

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

    def action_keep(self) -> None:
        """Save the run in the ledger."""
        if self.recording is None:
            self.say(ledger_words.NOT_RECORDED)
        elif not self.saved_as:
            self.post_message(Keep(self, self.recording, self.label, self.same_insertion))

    def action_same_insertion(self) -> None:
        """This run is the same insertion of the tails as the one before, or is not."""
        self.same_insertion = not self.same_insertion
        self.say(ledger_words.SAME_INSERTION if self.same_insertion else ledger_words.ONE_INSERTION)

    def action_page(self) -> None:
        """Write the report."""
        if self.recording is None:
            self.say(ledger_words.NOT_RECORDED)
        else:
            self.post_message(PageWanted(self, self.recording, self.label))

    def action_next_one(self) -> None:
        """Test the next keyboard of the batch."""
        self.post_message(NextWanted(self.label, bool(self.saved_as) or self.recording is None))

    @property
    def label(self) -> str:
        """The label it was saved under, else the run's own."""
        return self.saved_as or str((self.document or {}).get("label", ""))

    def say(self, text: str, saved_as: str = "") -> None:
        """Tell what came of saving or reporting; saved_as: the label in the ledger."""
        if saved_as:
            self.saved_as, self._kept, text = saved_as, text, ""
        self._said = text
        self._draw()

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
        self.query_one("#foot", Static).update(Text("\n".join(text for text in (self._foot, self._kept, self._said) if text)))
