"""The app's bookkeeping: saves runs, writes reports, opens the ledger. Slow things happen in threads.

The ledger's database layer is loaded only when it is wanted (or ahead of time, in a thread), so that the app starts quickly.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from textual.app import App

from tailwise.recording.format import RecordingError
from tailwise.tui.labeldialog import LabelDialog
from tailwise.tui.verdictscreen import Keep, PageWanted, VerdictScreen
from tailwise.words import ledgerscreen as words

if TYPE_CHECKING:
    from tailwise.ledger.store import Ledger


def open_default_ledger() -> Ledger:
    """The ledger in the user's data folder; LedgerError where it cannot be used."""
    from tailwise.ledger.store import Ledger

    return Ledger()


class Books:
    """One ledger for the whole sitting, opened when it is first wanted."""

    def __init__(self, app: App[int], open_ledger: Callable[[], Ledger]) -> None:
        self._app = app
        self._open = open_ledger
        self._ledger: Ledger | None = None

    def ledger(self) -> Ledger:
        """The open ledger; LedgerError where it cannot be used."""
        if self._ledger is None:
            self._ledger = self._open()
        return self._ledger

    def close(self) -> None:
        """Let go of it."""
        if self._ledger is not None:
            self._ledger.close()

    def preload(self) -> None:
        """Load the database layer ahead of time; called in a thread."""
        import tailwise.ledger.desk
        import tailwise.tui.ledgerscreen  # noqa: F401

    def keep(self, wanted: Keep, counts: bool) -> None:
        """Save a finished run; asks for a label where it has none. counts: whether it wore the harness's sockets."""
        if wanted.label:
            self._save(wanted, counts, wanted.label)
            return
        proposal = self.proposal("")
        if proposal is not None:
            self._app.push_screen(LabelDialog(words.LABEL_TITLE, "", proposal), partial(self._save, wanted, counts))

    def page(self, wanted: PageWanted) -> None:
        """Write the report of a finished run."""
        wanted.screen.say(words.WRITING)
        self._app.run_worker(partial(self._write, wanted), thread=True, exit_on_error=False)

    def proposal(self, label: str) -> str | None:
        """The next free label; None, with the reason told, where the ledger cannot be used."""
        from tailwise.ledger.desk import free_label
        from tailwise.ledger.errors import LedgerError

        try:
            return free_label(self.ledger(), label)
        except LedgerError as error:
            self._app.notify(str(error), severity="error", markup=False)
            return None

    def _save(self, wanted: Keep, counts: bool, label: str | None) -> None:
        if label:
            wanted.screen.say(words.SAVING)
            self._app.run_worker(partial(self._saving, wanted, counts, label), thread=True, exit_on_error=False)

    def _saving(self, wanted: Keep, counts: bool, label: str) -> None:
        from tailwise.ledger.desk import save_recording
        from tailwise.ledger.errors import LedgerError
        from tailwise.ledger.store import WORN_AT

        try:
            done = save_recording(self.ledger(), wanted.recording, label, same_insertion=wanted.same_insertion, counts=counts)
        except (LedgerError, RecordingError, OSError) as error:
            self._tell(wanted.screen, str(error))
            return
        said = [words.saved(done.label, done.run, done.verdict, done.grade), words.matings(sorted(done.matings.items()))]
        if done.worn:
            said.append(words.worn(done.worn, WORN_AT))
        self._tell(wanted.screen, "\n".join(text for text in said if text), done.label)

    def _write(self, wanted: PageWanted) -> None:
        from tailwise.ledger.desk import earlier_run
        from tailwise.ledger.errors import LedgerError
        from tailwise.report.writing import write_page

        try:
            raw = wanted.recording.read_bytes()
            before = earlier_run(self.ledger(), wanted.label, raw) if wanted.label else None
            earlier = None if before is None else (before.document, before.saved)
            path = write_page(raw, str(wanted.recording), wanted.label, earlier)
        except (LedgerError, RecordingError, OSError) as error:
            self._tell(wanted.screen, str(error))
        else:
            self._tell(wanted.screen, words.written(str(path)))

    def _tell(self, screen: VerdictScreen, text: str, saved_as: str = "") -> None:
        self._app.call_from_thread(screen.say, text, saved_as)


def page_of_run(ledger: Ledger, number: int) -> Path:
    """Write the report of a run of the ledger, beside the run before it; LedgerError, RecordingError, OSError."""
    from tailwise.ledger.desk import earlier_run
    from tailwise.report.writing import write_page

    run = ledger.run(number)
    raw = ledger.recording(number)
    before = earlier_run(ledger, run.label, raw)
    earlier = None if before is None else (before.document, before.saved)
    return write_page(raw, f"run {number}", run.label, earlier)
