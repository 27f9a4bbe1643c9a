"""The app: connect, cautions, run, verdict. `run_app` is what the command line calls."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from textual.app import App
from textual.binding import Binding
from textual.filter import Monochrome, NoColor

from tailwise.layoutfile.library import find_layout
from tailwise.link.base import Link
from tailwise.link.ports import PortInfo, serial_ports
from tailwise.live.folder import recordings_folder
from tailwise.live.run import Run, RunSettings
from tailwise.model.layout import Layout
from tailwise.practice.bench import open_practice
from tailwise.practice.catalogue import find_scenario
from tailwise.tui.bindings import APP_KEYS
from tailwise.tui.books import Books, open_default_ledger
from tailwise.tui.choices import PRACTICE, Offers, Place, read_offers
from tailwise.tui.connect import Chosen, ConnectScreen, Wanted
from tailwise.tui.dialogs import Cautions, Help
from tailwise.tui.feed import AnyRun
from tailwise.tui.keys import keys_file, read_keys
from tailwise.tui.labeldialog import LabelDialog
from tailwise.tui.listenscreen import ListenScreen
from tailwise.tui.runscreen import RunScreen
from tailwise.tui.sidedoors import SideDoors
from tailwise.tui.theme import THEME
from tailwise.tui.verdictscreen import Another, Keep, NextWanted, PageWanted, VerdictScreen
from tailwise.words import app as words
from tailwise.words import ledgerscreen as ledger_words

if TYPE_CHECKING:
    from tailwise.ledger.store import Ledger

MakeRun = Callable[[RunSettings], AnyRun]
"""Makes the run of some settings."""


class TailwiseApp(App[int]):
    """The whole app. `start` skips the connect screen."""

    CSS_PATH = "app.tcss"
    TITLE = "tailwise"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS = APP_KEYS

    def __init__(
        self,
        *,
        start: Chosen | None = None,
        layout: Layout | None = None,
        label: str = "",
        make_run: MakeRun = Run,
        ports: Callable[[], Sequence[PortInfo]] = serial_ports,
        offers: Callable[[], Offers] = read_offers,
        record: Path | None = None,
        keys: dict[str, str] | None = None,
        open_ledger: Callable[[], Ledger] = open_default_ledger,
    ) -> None:
        """start: what to test at once. layout, label: what the connect screen begins with. record: folder of recordings."""
        super().__init__()
        self.muted = False
        self._start = start
        self._layout_wanted = layout
        self._label = label
        self._make_run = make_run
        self._ports = ports
        self._offers = offers
        self._record = record
        self._cautions_read = False
        self._leaving = False
        self._keys_changed = dict(keys or {})
        self._last: Chosen | None = None
        self._books = Books(self, open_ledger)
        self._side = SideDoors(self, make_run, record, self._keys_changed)
        self.set_keymap(self._keys_changed)
        if self.no_color:
            self._filters = [one for one in self._filters if not isinstance(one, Monochrome)]
            self._filters.append(NoColor())

    def on_mount(self) -> None:
        """Choose first, or start at once."""
        self.register_theme(THEME)
        self.theme = THEME.name
        self.run_worker(self._books.preload, name="preload", thread=True, exit_on_error=False)
        if self._start is not None:
            self.on_chosen(self._start)
        else:
            self._choose()

    def on_chosen(self, chosen: Chosen) -> None:
        """Cautions before the first start, then the run."""
        if isinstance(self.screen, ListenScreen):
            self.pop_screen()
        if self._cautions_read:
            self._begin(chosen)
        else:
            self.push_screen(Cautions(), partial(self._read, chosen))

    def on_wanted(self, message: Wanted) -> None:
        """Cautions before the first board is driven, then what is wanted."""
        if self._cautions_read:
            self._side.open(message)
        else:
            self.push_screen(Cautions(), partial(self._read_first, message))

    def on_keep(self, message: Keep) -> None:
        """Save a run in the ledger."""
        self._books.keep(message, counts=self._last is not None and not self._last.place.operated)

    def on_page_wanted(self, message: PageWanted) -> None:
        """Write a report."""
        self._books.page(message)

    def on_next_wanted(self, message: NextWanted) -> None:
        """The next keyboard of a batch: label counted on, harness and layout kept."""
        proposal = self._books.proposal(message.label)
        if proposal is not None:
            note = "" if message.saved else ledger_words.NOT_SAVED_YET
            self.push_screen(LabelDialog(ledger_words.NEXT_TITLE, ledger_words.NEXT_TEXT, proposal, note), self._next)

    def on_another(self, message: Another) -> None:
        """Back to the choice."""
        if isinstance(self.screen, RunScreen | ListenScreen):
            self.pop_screen()
        if not isinstance(self.screen, ConnectScreen):
            self._choose()

    def action_ledger(self) -> None:
        """The records of keyboards and runs."""
        from tailwise.ledger.errors import LedgerError
        from tailwise.tui.ledgerscreen import LedgerScreen

        if isinstance(self.screen, LedgerScreen):
            return
        try:
            ledger = self._books.ledger()
        except LedgerError as error:
            self.notify(str(error), severity="error", markup=False)
        else:
            self.push_screen(LedgerScreen(ledger))

    def on_unmount(self) -> None:
        """Let go of the ledger."""
        self._books.close()

    def action_help(self) -> None:
        """Signs and keys, as they are bound now."""
        if isinstance(self.screen, Help):
            return
        seen: dict[str, tuple[str, str, str]] = {}
        for active in self.screen.active_bindings.values():
            binding = active.binding
            if binding.id in words.KEY_NAMES:
                hit = self._keys_of(binding)
                seen.setdefault(binding.id or "", (hit, binding.description, binding.id or ""))
        self.push_screen(Help(list(seen.values())))

    def action_mute(self) -> None:
        """Sound on or off."""
        self.muted = not self.muted
        if isinstance(self.screen, RunScreen):
            self.screen.show_all()

    def action_leave(self) -> None:
        """Leave; a run that is going on is ended and judged only when asked twice."""
        run = next((screen for screen in self.screen_stack if isinstance(screen, RunScreen)), None)
        if run is not None and run.running and not self._leaving:
            self._leaving = True
            self.notify(words.STILL_RUNNING, severity="warning")
            return
        if run is not None:
            run.run_feed.run.stop()
        self.exit(0)

    def _keys_of(self, binding: Binding) -> str:
        keys = [key for key, active in self.screen.active_bindings.items() if active.binding.id == binding.id]
        return " ".join(self.get_key_display(Binding(key, "")) for key in keys)

    def _read(self, chosen: Chosen, read: bool | None) -> None:
        if read:
            self._cautions_read = True
            self._begin(chosen)
        elif not isinstance(self.screen, ConnectScreen):
            self._choose()

    def _next(self, label: str | None) -> None:
        if label is None or self._last is None:
            return
        while isinstance(self.screen, VerdictScreen | RunScreen):
            self.pop_screen()
        self._begin(Chosen(self._last.place, self._last.layout, label, self._last.wiring))

    def _read_first(self, wanted: Wanted, read: bool | None) -> None:
        if read:
            self._cautions_read = True
            self._side.open(wanted)

    def _choose(self) -> None:
        self.push_screen(ConnectScreen(self._ports, self._offers, self._layout_wanted, self._label))

    def _begin(self, chosen: Chosen) -> None:
        self._leaving = False
        self._last = chosen
        place, layout = chosen.place, chosen.layout
        settings = RunSettings(
            url=place.url,
            layout=layout,
            label=chosen.label,
            record=self._record,
            wiring=chosen.wiring,
            realtime=place.practice,
            regain_s=None,
        )
        head = "   ".join(text for text in (layout.title, chosen.label, place.url) if text)
        run = self._make_run(settings)
        self.push_screen(
            RunScreen(
                run,
                layout,
                head,
                vouches=not place.operated,
                plain=self.no_color,
                keys=self._keys_changed,
                story=place.about if place.practice else "",
            )
        )


def run_app(
    port: str | None = None,
    layout: str | None = None,
    label: str = "",
    scenario: str | None = None,
    speed: float = 1.0,
) -> int:
    """Run the app on the terminal; the exit code.

    port: any URL of `--port`. scenario: the practice bench at once, `speed` times as fast as life. FileProblems where
    the layout or the scenario is unknown or has problems, KeysFileError where the user's keys file cannot be used.
    """
    found = None if layout is None else find_layout(layout)
    start = None
    if scenario is not None or (port or "").startswith(PRACTICE):
        name = scenario if scenario is not None else (port or "").removeprefix(PRACTICE)
        played = find_scenario(name)
        place = Place(PRACTICE + name, played.story, played.setup.layout.id)
        start = Chosen(place, found or played.setup.layout, label)
    elif port is not None and found is not None:
        start = Chosen(Place(port, ""), found, label)
    app = TailwiseApp(
        start=start,
        layout=found,
        label=label,
        make_run=partial(_run, speed),
        record=recordings_folder(),
        keys=read_keys(keys_file()),
    )
    return app.run() or 0


def _run(speed: float, settings: RunSettings) -> Run:
    if not settings.url.startswith(PRACTICE):
        return Run(settings)

    def opener(url: str, *, realtime: bool = False) -> Link:
        return open_practice(url.removeprefix(PRACTICE), realtime=realtime, speed=speed)

    return Run(settings, opener)
