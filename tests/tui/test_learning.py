"""Drawing and learning an unknown keyboard in the app, at both sizes."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, OptionList, TextArea

from tailwise.harness.store import kept_wirings
from tailwise.layoutfile.library import find_layout
from tailwise.layoutfile.own import own_ids
from tailwise.learn.drawing import SHAPES
from tailwise.tui.app import TailwiseApp
from tailwise.tui.choices import Offers
from tailwise.tui.connect import ConnectScreen
from tailwise.tui.dialogs import Cautions
from tailwise.tui.drawscreen import DrawScreen
from tailwise.tui.learnscreen import KeyPicker, LearnScreen
from tailwise.tui.routescreen import RouteScreen
from tailwise.tui.runscreen import RunScreen
from tailwise.tui.savescreen import SaveScreen
from tests.tui.heard import HeardRun, listening_app
from tests.tui.scripted import LAYOUT, PORT, drive, text_of, until

SIZES = [(80, 24), (120, 40)]
ROWS = "1 2 3 4\nQ W E R"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path))


async def drawing(app: TailwiseApp, pilot: Pilot[int]) -> DrawScreen:
    await until(pilot, lambda: isinstance(app.screen, ConnectScreen) and app.screen.offers is not None)
    await pilot.press("f3")
    await until(pilot, lambda: isinstance(app.screen, Cautions | DrawScreen))
    if isinstance(app.screen, Cautions):
        await pilot.press("enter")
    await until(pilot, lambda: isinstance(app.screen, DrawScreen))
    screen = app.screen
    assert isinstance(screen, DrawScreen)
    return screen


async def learning(app: TailwiseApp, pilot: Pilot[int], run: HeardRun, rows: str = ROWS) -> LearnScreen:
    screen = await drawing(app, pilot)
    screen.query_one("#rows", TextArea).text = rows
    screen.query_one("#name", Input).value = "Attic find"
    await pilot.press("f5")
    await until(pilot, lambda: isinstance(app.screen, LearnScreen))
    found = app.screen
    assert isinstance(found, LearnScreen)
    run.begin_to_listen()
    await until(pilot, lambda: not found.sitting.picture().resting)
    return found


@pytest.mark.parametrize("size", SIZES)
def test_the_drawing_is_previewed_and_shapes_can_be_taken(size: tuple[int, int]) -> None:
    app = listening_app(HeardRun())

    async def steps(pilot: Pilot[int]) -> None:
        screen = await drawing(app, pilot)
        await until(pilot, lambda: "40 keys drawn" in text_of(app))
        assert "▏ENTE" in text_of(app)
        screen.query_one("#rows", TextArea).text = "A:99"
        await until(pilot, lambda: "cannot be read yet" in text_of(app))
        await pilot.press("f5")
        assert isinstance(app.screen, DrawScreen)
        screen.query_one("#shapes", OptionList).focus()
        await pilot.press("down", "down", "enter")
        await until(pilot, lambda: screen.query_one("#rows", TextArea).text == "\n".join(SHAPES["number pad, 4 x 4"]))
        await until(pilot, lambda: "16 keys drawn" in text_of(app))
        await pilot.press("down", "enter")
        await until(pilot, lambda: "42 keys drawn" in text_of(app))
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, ConnectScreen))

    drive(app, size, steps)


@pytest.mark.parametrize("size", SIZES)
def test_each_key_is_asked_for_and_the_layout_is_saved_with_routes_and_tested(size: tuple[int, int]) -> None:
    run = HeardRun()
    app = listening_app(run)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await learning(app, pilot, run)
        await until(pilot, lambda: "Press  1" in text_of(app))
        run.hear_presses("1", "2", "3", "4", "Q", "W", "E", "R")
        await until(pilot, lambda: screen.sitting.picture().finished)
        await until(pilot, lambda: "8 of 8 keys found" in text_of(app))
        await pilot.press("e")
        await until(pilot, lambda: isinstance(app.screen, SaveScreen))
        assert "id: attic-find" in text_of(app)
        await pilot.press("f4", "f5")
        await until(pilot, lambda: "saved as" in text_of(app))
        layout = find_layout("attic-find")
        assert (layout.kind.value, layout.routes, len(layout.keys)) == ("pads", None, 8)
        assert [kept.layout for kept in kept_wirings()] == ["attic-find"]
        await pilot.press("f6")
        await until(pilot, lambda: isinstance(app.screen, RouteScreen))
        routing = app.screen
        assert isinstance(routing, RouteScreen)
        line = routing.line
        before = list(routing.draft.orders[line])
        await pilot.press("t", "enter", "d")
        assert routing.draft.corrected == {line}
        await until(pilot, lambda: "corrected" in text_of(app))
        assert sorted(routing.draft.orders[line]) == sorted(before)
        await pilot.press("f5")
        await until(pilot, lambda: isinstance(app.screen, SaveScreen))
        await until(pilot, lambda: "marked as assumed" in text_of(app))
        with_routes = find_layout("attic-find")
        assert with_routes.routes is not None and with_routes.routes_assumed
        await pilot.press("f7")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert run.settings is not None and run.settings.layout == with_routes

    drive(app, size, steps)


def test_mistakes_are_corrected_and_silence_and_skips_are_answers() -> None:
    run = HeardRun()
    app = listening_app(run)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await learning(app, pilot, run)
        run.hear_presses("1", "W")
        await until(pilot, lambda: "Press  3" in text_of(app))
        await pilot.press("b")
        await until(pilot, lambda: "Press  2" in text_of(app))
        run.hear_presses("2")
        await until(pilot, lambda: "Press  3" in text_of(app))
        await pilot.press("n", "s")
        states = screen.sitting.picture().states
        assert (states["3"].value, states["4"].value) == ("mute", "skipped")
        await pilot.press("k")
        await until(pilot, lambda: isinstance(app.screen, KeyPicker))
        await pilot.press("home", "down", "down", "down", "enter")
        await until(pilot, lambda: "Press  4" in text_of(app))
        run.hear_presses("4")
        await until(pilot, lambda: screen.sitting.shown("4") == ("L0", "L10"))
        await pilot.press("k")
        await until(pilot, lambda: isinstance(app.screen, KeyPicker))
        await pilot.press("escape")

    drive(app, (80, 24), steps)


def test_a_lesson_is_gone_on_with_later() -> None:
    run = HeardRun()
    app = listening_app(run)

    async def steps(pilot: Pilot[int]) -> None:
        await learning(app, pilot, run)
        run.hear_presses("1", "2", "3")
        await until(pilot, lambda: "Press  4" in text_of(app))
        await pilot.press("o")
        await until(pilot, lambda: isinstance(app.screen, ConnectScreen))
        screen = await drawing(app, pilot)
        screen.query_one("#shapes", OptionList).focus()
        assert "Attic find (3 of 8)" in text_of(app)
        await pilot.press("enter", "f5")
        await until(pilot, lambda: isinstance(app.screen, LearnScreen))
        again = app.screen
        assert isinstance(again, LearnScreen)
        assert again.sitting.picture().found == 3

    drive(app, (80, 24), steps)


def test_a_board_with_more_lines_is_started_again_with_all_of_them() -> None:
    run = HeardRun()
    app = listening_app(run)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await drawing(app, pilot)
        screen.query_one("#rows", TextArea).text = ROWS
        await pilot.press("f5")
        await until(pilot, lambda: isinstance(app.screen, LearnScreen))
        run.begin_to_listen(line_count=40)
        await until(pilot, lambda: len(run.made_with) == 2)
        assert [len(made.layout.singles) for made in run.made_with] == [24, 40]
        assert isinstance(app.screen, LearnScreen) and not app.screen.over

    drive(app, (80, 24), steps)


def test_nothing_learned_is_not_saved() -> None:
    run = HeardRun()
    app = listening_app(run)

    async def steps(pilot: Pilot[int]) -> None:
        await learning(app, pilot, run)
        await pilot.press("e")
        await until(pilot, lambda: isinstance(app.screen, SaveScreen))
        await pilot.press("f5", "f6", "f7")
        screen = app.screen
        assert isinstance(screen, SaveScreen) and screen.kept is None
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, LearnScreen))

    drive(app, (80, 24), steps)


def test_a_keyboard_learned_just_now_is_offered_as_ones_own() -> None:
    run = HeardRun()
    read: list[Offers] = []

    def offers() -> Offers:
        own = tuple(own_ids())
        read.append(Offers((*(find_layout(name) for name in own), LAYOUT), (), (), own))
        return read[-1]

    app = TailwiseApp(make_run=run.made, ports=lambda: [PORT], offers=offers)

    async def steps(pilot: Pilot[int]) -> None:
        await learning(app, pilot, run)
        run.hear_presses("1", "2", "3", "4", "Q", "W", "E", "R")
        await until(pilot, lambda: "8 of 8 keys found" in text_of(app))
        await pilot.press("e")
        await until(pilot, lambda: isinstance(app.screen, SaveScreen))
        await pilot.press("f5", "escape")
        await until(pilot, lambda: isinstance(app.screen, LearnScreen))
        await pilot.press("o")
        await until(pilot, lambda: isinstance(app.screen, ConnectScreen))
        await until(pilot, lambda: "yours: Attic find" in text_of(app))
        assert len(read) == 2

    drive(app, (80, 24), steps)


def test_what_one_specimen_did_not_show_another_fills() -> None:
    whole = HeardRun()
    app = listening_app(whole)

    async def first(pilot: Pilot[int]) -> None:
        await learning(app, pilot, whole)
        whole.hear_presses("1", "2", "3", "4", "Q", "W", "E", "R")
        await until(pilot, lambda: "8 of 8 keys found" in text_of(app))
        await pilot.press("e")
        await until(pilot, lambda: isinstance(app.screen, SaveScreen))
        await pilot.press("f5")

    drive(app, (80, 24), first)
    damaged = HeardRun()
    other = listening_app(damaged)

    async def second(pilot: Pilot[int]) -> None:
        await learning(other, pilot, damaged)
        await pilot.press("s")
        damaged.hear_presses("2", "3", "4", "Q", "W", "E", "R")
        await until(pilot, lambda: "7 of 8 keys found" in text_of(other))
        await pilot.press("e")
        await until(pilot, lambda: isinstance(other.screen, SaveScreen))
        await until(pilot, lambda: "f8 fills" in text_of(other))
        await pilot.press("f8")
        await until(pilot, lambda: "1 key taken from Attic find" in text_of(other))
        assert "8 of 8 keys found" in text_of(other)
        await pilot.press("f5")
        await until(pilot, lambda: "saved as" in text_of(other))
        one, two = find_layout("attic-find"), find_layout("attic-find-2")
        assert {key.id: (key.row, key.column) for key in one.keys} == {key.id: (key.row, key.column) for key in two.keys}

    drive(other, (80, 24), second)
