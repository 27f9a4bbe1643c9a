"""The ledger: search keyboards, look at their runs, compare two, write a report again."""

from __future__ import annotations

from functools import partial

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import Screen
from textual.widgets import Footer, Input, OptionList, Static
from textual.widgets.option_list import Option

from tailwise.ledger.compare import compare
from tailwise.ledger.errors import LedgerError
from tailwise.ledger.store import KeyboardEntry, Ledger, RunEntry
from tailwise.recording.format import RecordingError
from tailwise.tui.bindings import LEDGER_KEYS
from tailwise.tui.books import page_of_run
from tailwise.tui.ledgerpage import comparison_text, run_text
from tailwise.words import ledgerscreen as words

SHOWN = 100
"""Keyboards listed at once; the search finds the others."""


class LedgerScreen(Screen[None]):
    """Everything is read when it is shown, so that a ledger of any size opens at once."""

    BINDINGS = LEDGER_KEYS

    def __init__(self, ledger: Ledger) -> None:
        super().__init__()
        self._ledger = ledger
        self.keyboards: list[KeyboardEntry] = []
        self.runs: list[RunEntry] = []
        self.marked: list[int] = []

    def compose(self) -> ComposeResult:
        """Search and keyboards at the left, runs at the right, details below."""
        yield Static(Text.assemble(("tailwise", "bold reverse"), "  ", words.TITLE, "   ", self._ledger.where), id="title")
        yield Input(placeholder=words.SEARCH, id="ledger-search", compact=True)
        with Horizontal(id="books"):
            with Vertical():
                yield Static(words.KEYBOARDS, classes="title")
                yield OptionList(id="keyboards")
            with Vertical():
                yield Static(words.RUNS, classes="title")
                yield OptionList(id="runs")
        with VerticalScroll(id="detail-page"):
            yield Static(id="detail")
        yield Static(words.HINT, id="how", classes="hint")
        yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        """The newest keyboards."""
        self._search("")
        self.query_one("#keyboards", OptionList).focus()

    def on_input_changed(self, event: Input.Changed) -> None:
        """Search while typing."""
        self._search(event.value.strip())

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """From the search to what was found."""
        self.query_one("#keyboards", OptionList).focus()

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """A keyboard shows its runs, a run its findings."""
        if event.option_list.id == "keyboards":
            self._list_runs()
        else:
            self._show_run()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """From the keyboard to its runs; a run shows its findings (again, after a comparison)."""
        if event.option_list.id == "keyboards":
            self.query_one("#runs", OptionList).focus()
        else:
            self._show_run()

    def action_mark(self) -> None:
        """Mark the run under the cursor, or take the mark away; the newest two marks count."""
        run = self._run()
        if run is None:
            return
        if run.run in self.marked:
            self.marked.remove(run.run)
        else:
            self.marked = [*self.marked[-1:], run.run]
        self._fill_runs(self.query_one("#runs", OptionList).highlighted)

    def action_compare(self) -> None:
        """The two marked runs side by side, the older one first."""
        if len(self.marked) < 2:
            self.notify(words.TWO_NEEDED, severity="warning")
            return
        try:
            before, after = (self._ledger.run(number) for number in sorted(self.marked))
        except LedgerError as error:
            self.notify(str(error), severity="error", markup=False)
        else:
            self._detail(comparison_text(compare(before, after)))

    def action_page(self) -> None:
        """Write the report of the run under the cursor."""
        run = self._run()
        if run is None:
            self.notify(words.NO_RUN, severity="warning")
            return
        self._detail(Text(words.WRITING))
        self.run_worker(partial(self._write, run.run), thread=True, exit_on_error=False)

    def action_back(self) -> None:
        """Back to where the ledger was opened."""
        self.dismiss(None)

    def _write(self, number: int) -> None:
        try:
            said = words.written(str(page_of_run(self._ledger, number)))
        except (LedgerError, RecordingError, OSError) as error:
            said = str(error)
        self.app.call_from_thread(self._detail, Text(said))

    def _search(self, term: str) -> None:
        try:
            self.keyboards = self._ledger.keyboards(term, limit=SHOWN)
        except LedgerError as error:
            self.notify(str(error), severity="error", markup=False)
            return
        listed = self.query_one("#keyboards", OptionList)
        listed.clear_options()
        for one in self.keyboards:
            seen = (one.last_verdict or "", one.last_grade or "")
            listed.add_option(Option(_row(words.keyboard_row(one.label, one.layout, one.runs, *seen, one.donor))))
        if self.keyboards:
            listed.highlighted = 0
        else:
            listed.add_option(Option(Text(words.NOTHING_FITS if term else words.EMPTY), disabled=True))
            self.runs = []
            self._fill_runs(None)
            self._detail(Text())

    def _list_runs(self) -> None:
        at = self.query_one("#keyboards", OptionList).highlighted
        if at is None or at >= len(self.keyboards):
            return
        try:
            self.runs = list(reversed(self._ledger.runs_of(self.keyboards[at].label)))
        except LedgerError as error:
            self.notify(str(error), severity="error", markup=False)
            return
        self._fill_runs(0 if self.runs else None)
        self._show_run()

    def _fill_runs(self, at: int | None) -> None:
        listed = self.query_one("#runs", OptionList)
        with self.prevent(OptionList.OptionHighlighted):
            listed.clear_options()
            for run in self.runs:
                marked = run.run in self.marked
                text = words.run_row(marked, run.run, run.saved, run.verdict, run.grade, run.stage)
                listed.add_option(Option(_row(text)))
            listed.highlighted = at

    def _run(self) -> RunEntry | None:
        at = self.query_one("#runs", OptionList).highlighted
        return self.runs[at] if at is not None and at < len(self.runs) else None

    def _show_run(self) -> None:
        run = self._run()
        if run is not None:
            keyboard = next((one for one in self.keyboards if one.label == run.label), None)
            self._detail(run_text(run, keyboard.owner if keyboard else "", keyboard.notes if keyboard else ""))

    def _detail(self, text: Text) -> None:
        if self.is_mounted:
            self.query_one("#detail", Static).update(text)


def _row(text: str) -> Text:
    return Text(text, no_wrap=True, overflow="ellipsis")
