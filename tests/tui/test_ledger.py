"""From the verdict into the ledger, on to the next keyboard, and through the records."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, OptionList

from tailwise.layoutfile.own import data_folder
from tailwise.ledger.desk import save_recording
from tailwise.ledger.store import WORN_AT, Ledger
from tailwise.link.base import Link
from tailwise.live.run import Run, RunSettings
from tailwise.practice.bench import open_practice
from tailwise.practice.catalogue import find_scenario
from tailwise.tui.app import TailwiseApp
from tailwise.tui.choices import PRACTICE, Place
from tailwise.tui.connect import Chosen, ConnectScreen
from tailwise.tui.labeldialog import LabelDialog
from tailwise.tui.ledgerscreen import LedgerScreen
from tailwise.tui.verdictscreen import VerdictScreen
from tailwise.words import ledgerscreen as words
from tests.tui.heard import HeardRun, listening_app
from tests.tui.scripted import LAYOUT, drive, text_of, until
from tests.tui.test_practice import virtual

SIZES = [(80, 24), (120, 40)]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path))
    return tmp_path


def bench(settings: RunSettings) -> Run:
    """A run on a harness that is somebody's own, as fast as it goes."""

    def opener(url: str, *, realtime: bool = False) -> Link:
        return open_practice(url.partition(":")[2])

    return Run(settings, opener)


def on_bench(folder: Path, label: str) -> TailwiseApp:
    played = find_scenario("dead-key")
    place = Place("bench:dead-key", played.story, played.setup.layout.id)
    recordings = folder / "recordings"
    recordings.mkdir()
    return TailwiseApp(start=Chosen(place, LAYOUT, label), make_run=bench, record=recordings)


def flat(app: TailwiseApp) -> str:
    return " ".join(text_of(app).split())


async def verdict(app: TailwiseApp, pilot: Pilot[int]) -> VerdictScreen:
    await until(pilot, lambda: isinstance(app.screen, VerdictScreen) and app.screen.final)
    screen = app.screen
    assert isinstance(screen, VerdictScreen)
    return screen


def filled(folder: Path) -> None:
    ledger = Ledger()
    for number, (scenario, label) in enumerate((("dead-key", "KB-0001"), ("sound", "KB-0001"), ("sound", "shelf 3"))):
        path = folder / f"{number}.twrec"
        for _ in Run(RunSettings(f"practice:{scenario}", LAYOUT, record=path, every_key_pressed=True, progress_hz=0)).events():
            pass
        save_recording(ledger, path, label)
    ledger.change("shelf 3", owner="next door")
    ledger.close()


@pytest.mark.parametrize("size", SIZES)
def test_a_run_is_saved_reported_and_the_next_keyboard_follows(size: tuple[int, int], folder: Path) -> None:
    app = on_bench(folder, "KB-0042")

    async def steps(pilot: Pilot[int]) -> None:
        await pilot.press("enter")
        first = await verdict(app, pilot)
        await pilot.press("n")
        await until(pilot, lambda: isinstance(app.screen, LabelDialog))
        assert words.NOT_SAVED_YET[:30] in flat(app)
        await pilot.press("escape", "s")
        await until(pilot, lambda: first.saved_as == "KB-0042")
        await until(pilot, lambda: "Saved: KB-0042, run 1 (" in flat(app))
        assert "demo-7x6 J1 1" in flat(app)
        await pilot.press("p")
        await until(pilot, lambda: "Report:" in text_of(app))
        assert [page.suffix for page in (folder / "reports").iterdir()] == [".html"]
        await pilot.press("n")
        await until(pilot, lambda: isinstance(app.screen, LabelDialog))
        assert app.screen.query_one("#label-asked", Input).value == "KB-0043"
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, VerdictScreen) and app.screen is not first and app.screen.final)
        second = await verdict(app, pilot)
        assert second.label == "KB-0043"
        await pilot.press("i", "s")
        await until(pilot, lambda: second.saved_as == "KB-0043")
        ledger = Ledger()
        assert ledger.connectors()["demo-7x6 J1"] == 1
        assert [one.label for one in ledger.keyboards()] == ["KB-0043", "KB-0042"]
        ledger.close()

    drive(app, size, steps)


def test_a_practice_run_wears_no_socket(folder: Path) -> None:
    played = find_scenario("dead-key")
    recordings = folder / "recordings"
    recordings.mkdir()
    start = Chosen(Place(PRACTICE + "dead-key", played.story), LAYOUT, "KB-0001")
    app = TailwiseApp(start=start, make_run=virtual, record=recordings)

    async def steps(pilot: Pilot[int]) -> None:
        await pilot.press("enter")
        screen = await verdict(app, pilot)
        await pilot.press("s")
        await until(pilot, lambda: screen.saved_as == "KB-0001")
        ledger = Ledger()
        assert ledger.connectors() == {}
        ledger.close()

    drive(app, (80, 24), steps)


def test_without_a_label_one_is_asked_for_and_a_worn_socket_is_told(folder: Path) -> None:
    ledger = Ledger()
    ledger.mate("demo-7x6 J1", WORN_AT)
    ledger.close()
    app = on_bench(folder, "")

    async def steps(pilot: Pilot[int]) -> None:
        await pilot.press("enter")
        screen = await verdict(app, pilot)
        await pilot.press("s")
        await until(pilot, lambda: isinstance(app.screen, LabelDialog))
        await pilot.press("enter")
        await until(pilot, lambda: screen.saved_as == "KB-0001")
        await until(pilot, lambda: f"{WORN_AT} insertions or more" in flat(app))
        await pilot.press("f9")
        await until(pilot, lambda: isinstance(app.screen, LedgerScreen))
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, VerdictScreen))

    drive(app, (80, 24), steps)


@pytest.mark.parametrize("size", SIZES)
def test_the_ledger_is_searched_and_two_runs_are_compared(size: tuple[int, int], folder: Path) -> None:
    filled(folder)
    app = listening_app(HeardRun())

    async def steps(pilot: Pilot[int]) -> None:
        await until(pilot, lambda: isinstance(app.screen, ConnectScreen) and app.screen.offers is not None)
        await pilot.press("f9")
        await until(pilot, lambda: isinstance(app.screen, LedgerScreen))
        screen = app.screen
        assert isinstance(screen, LedgerScreen)
        await until(pilot, lambda: "next door" in text_of(app))
        await pilot.press("f5")
        await pilot.press("down")
        await until(pilot, lambda: len(screen.runs) == 2)
        await pilot.press("enter", "space", "down", "space", "f5")
        await until(pilot, lambda: "Run 1 before, run 2 after" in text_of(app))
        assert "gone         dead contact" in text_of(app)
        await pilot.press("enter")
        await until(pilot, lambda: "Run 1 of KB-0001" in text_of(app))
        await pilot.press("space")
        assert screen.marked == [2]
        await pilot.press("f6")
        await until(pilot, lambda: "Report:" in text_of(app))
        assert len(list((data_folder() / "reports").iterdir())) == 1
        screen.query_one("#ledger-search", Input).focus()
        await pilot.press(*"door")
        await until(pilot, lambda: [one.label for one in screen.keyboards] == ["shelf 3"])
        await pilot.press(*"zz")
        await until(pilot, lambda: words.NOTHING_FITS in text_of(app))
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, ConnectScreen))

    drive(app, size, steps)


def test_an_empty_ledger_says_how_to_fill_it_and_a_foreign_one_is_told(folder: Path) -> None:
    app = listening_app(HeardRun())

    async def steps(pilot: Pilot[int]) -> None:
        await until(pilot, lambda: isinstance(app.screen, ConnectScreen) and app.screen.offers is not None)
        await pilot.press("f9")
        await until(pilot, lambda: isinstance(app.screen, LedgerScreen))
        await until(pilot, lambda: words.EMPTY[:20] in text_of(app))
        await pilot.press("f6", "space")
        assert app.screen.query_one("#runs", OptionList).option_count == 0

    drive(app, (80, 24), steps)
    (folder / "ledger.sqlite").unlink()
    for left in folder.glob("ledger.sqlite-*"):
        left.unlink()
    (folder / "ledger.sqlite").write_text("a shopping list, not a ledger at all")
    other = listening_app(HeardRun())

    async def refused(pilot: Pilot[int]) -> None:
        await until(pilot, lambda: isinstance(other.screen, ConnectScreen) and other.screen.offers is not None)
        await pilot.press("f9")
        await until(pilot, lambda: len(other._notifications) > 0)
        assert isinstance(other.screen, ConnectScreen)

    drive(other, (80, 24), refused)
