from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from threading import Event

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, OptionList

from tailwise.layoutfile.library import shipped_folder
from tailwise.link.ports import PortInfo
from tailwise.practice.catalogue import DEFAULT_SCENARIO
from tailwise.tui.app import TailwiseApp
from tailwise.tui.choices import Offers, matching, read_offers
from tailwise.tui.connect import ConnectScreen
from tailwise.tui.dialogs import Cautions
from tailwise.tui.runscreen import RunScreen
from tailwise.words import app as words
from tests.tui.scripted import LAYOUT, OTHER, PORT, ScriptedRun, drive, small_offers, text_of, until


def choosing(run: ScriptedRun, ports: Sequence[PortInfo]) -> TailwiseApp:
    return TailwiseApp(make_run=run.made, ports=lambda: ports, offers=small_offers)


async def read(app: TailwiseApp, pilot: Pilot[int]) -> ConnectScreen:
    await until(pilot, lambda: isinstance(app.screen, ConnectScreen) and app.screen.offers is not None)
    screen = app.screen
    assert isinstance(screen, ConnectScreen)
    return screen


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_without_a_harness_the_practice_bench_is_offered_and_starts(size: tuple[int, int]) -> None:
    run = ScriptedRun()
    app = choosing(run, [])

    async def steps(pilot: Pilot[int]) -> None:
        screen = await read(app, pilot)
        await pilot.pause()
        assert "No serial port is there" in " ".join(text_of(app).split())
        await pilot.press("down")
        await until(pilot, lambda: "The practice story." in text_of(app))
        layouts = screen.query_one("#layouts", OptionList)
        await until(pilot, lambda: layouts.highlighted == 1)
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, Cautions))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert run.settings is not None
        assert (run.settings.url, run.settings.layout, run.settings.realtime) == ("practice:two", OTHER, True)
        running = app.screen
        assert isinstance(running, RunScreen)
        assert not running.procedure.vouches

    drive(app, size, steps)


def test_a_scenario_can_be_started_before_all_of_them_are_read() -> None:
    run = ScriptedRun()
    waiting = Event()

    def slow() -> Offers:
        waiting.wait(20)
        return small_offers()

    app = TailwiseApp(make_run=run.made, ports=list, offers=slow)

    async def steps(pilot: Pilot[int]) -> None:
        await until(pilot, lambda: "practice:" + DEFAULT_SCENARIO in text_of(app))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, Cautions))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        waiting.set()
        assert run.settings is not None
        assert run.settings.url == "practice:" + DEFAULT_SCENARIO

    try:
        drive(app, (80, 40), steps)
    finally:
        waiting.set()


def test_with_a_harness_port_layout_and_label_are_chosen_by_keys_alone() -> None:
    run = ScriptedRun()
    app = choosing(run, [PORT])

    async def steps(pilot: Pilot[int]) -> None:
        screen = await read(app, pilot)
        assert not screen.query_one("#no-harness").display
        assert "/dev/ttyTEST0" in text_of(app)
        await pilot.press("enter")
        assert screen.query_one("#search", Input).has_focus
        await pilot.press(*"64", "enter")
        assert screen.query_one("#layouts", OptionList).option_count == 1
        await pilot.press("tab", *"shelf", "enter", "enter")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert run.settings is not None
        assert (run.settings.url, run.settings.layout, run.settings.label) == ("/dev/ttyTEST0", OTHER, "shelf")
        assert run.settings.regain_s is None
        assert not run.settings.realtime

    drive(app, (80, 24), steps)


def test_no_port_is_opened_before_the_cautions_are_read() -> None:
    run = ScriptedRun()
    app = choosing(run, [PORT])

    async def steps(pilot: Pilot[int]) -> None:
        await read(app, pilot)
        await pilot.press("f5")
        await until(pilot, lambda: isinstance(app.screen, Cautions))
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, ConnectScreen))
        assert run.settings is None

    drive(app, (80, 24), steps)


def test_ports_are_looked_for_again_and_the_choice_stays() -> None:
    run = ScriptedRun()
    ports: list[PortInfo] = []
    app = choosing(run, ports)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await read(app, pilot)
        await pilot.press("down")
        chosen = screen.query_one("#places", OptionList).highlighted_option
        assert chosen is not None
        ports.append(PORT)
        await pilot.press("f2")
        again = screen.query_one("#places", OptionList).highlighted_option
        assert again is not None
        assert again.id == chosen.id
        assert "/dev/ttyTEST0" in [place.url for place in screen.places]

    drive(app, (80, 24), steps)


def test_a_layout_file_can_be_named_in_the_search(tmp_path: Path) -> None:
    own = tmp_path / "mine.yaml"
    own.write_text(LAYOUT.text.replace("id: demo-7x6", "id: mine"), encoding="utf-8")
    run = ScriptedRun()
    app = choosing(run, [PORT])

    async def steps(pilot: Pilot[int]) -> None:
        screen = await read(app, pilot)
        screen.query_one("#search", Input).value = str(own)
        await until(pilot, lambda: "mine" in text_of(app))
        screen.query_one("#search", Input).value = "no such thing"
        await until(pilot, lambda: words.LAYOUT_NONE[:20] in text_of(app))
        await pilot.press("f5")
        assert isinstance(app.screen, ConnectScreen)

    drive(app, (80, 24), steps)


def test_every_word_of_the_search_counts() -> None:
    assert matching([LAYOUT, OTHER], "pellworth 42") == [LAYOUT]
    assert matching([LAYOUT, OTHER], "") == [LAYOUT, OTHER]
    assert matching([LAYOUT, OTHER], "64 8X8") == [OTHER]


def test_the_shipped_layouts_and_scenarios_are_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tailwise.tui.choices.shipped_ids", lambda: ["demo-7x6", "no-such-layout"])
    monkeypatch.setattr("tailwise.tui.choices.scenario_names", lambda: ["open-column"])
    offers: Offers = read_offers()
    assert [layout.id for layout in offers.layouts] == ["demo-7x6"]
    assert [(place.url, place.layout) for place in offers.practice] == [("practice:open-column", "demo-7x6")]
    assert len(offers.problems) == 1
    assert "no-such-layout" in offers.problems[0]
    assert (shipped_folder() / "demo-7x6.yaml").is_file()
