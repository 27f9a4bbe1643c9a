"""How a known keyboard sits, asked in the app."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tailwise.harness.store import kept_wirings
from tailwise.live.events import Connected, Started, WiringKept
from tailwise.tui.app import TailwiseApp
from tailwise.tui.connect import ConnectScreen
from tailwise.tui.connectionscreen import ConnectionScreen
from tailwise.tui.runscreen import RunScreen
from tailwise.words import connecting as words
from tests.tui.heard import HeardRun, listening_app
from tests.tui.scripted import BOARD, LAYOUT, drive, text_of, until

J1, J2 = (tail.lines for tail in LAYOUT.tails or ())
REVERSED = replace(LAYOUT, tails=None, rows=(*reversed(J1), *J2), columns=(), singles=())


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path))


async def asking(app: TailwiseApp, pilot: Pilot[int], run: HeardRun) -> ConnectionScreen:
    await until(pilot, lambda: isinstance(app.screen, ConnectScreen) and app.screen.offers is not None)
    await pilot.press("f6", "enter")
    await until(pilot, lambda: isinstance(app.screen, ConnectionScreen))
    screen = app.screen
    assert isinstance(screen, ConnectionScreen)
    run.begin_to_listen()
    await until(pilot, lambda: screen.assistant.picture().asking is not None)
    return screen


async def press_what_is_asked(pilot: Pilot[int], run: HeardRun, screen: ConnectionScreen) -> None:
    while (key := screen.assistant.picture().asking) is not None and len(run.pressed) < 10:
        run.hear_presses(key)
    await until(pilot, lambda: screen.settled is not None and screen.over)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_a_reversed_tail_is_named_kept_and_tested_as_it_sits(size: tuple[int, int]) -> None:
    run = HeardRun(sits=REVERSED)
    app = listening_app(run)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await asking(app, pilot, run)
        await until(pilot, lambda: "Press  " in text_of(app))
        await press_what_is_asked(pilot, run, screen)
        await until(pilot, lambda: "tail J1 reversed (told by" in text_of(app))
        (kept,) = kept_wirings()
        assert kept.board_line["R1"] == len(J1) - 1
        await pilot.press("f")
        assert kept_wirings() == []
        await pilot.press("t")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert run.settings is not None and run.settings.layout == LAYOUT
        assert run.settings.wiring is not None and run.settings.wiring.board_line == kept.board_line

    drive(app, size, steps)


def test_a_kept_wiring_is_named_in_the_status_of_a_run() -> None:
    run = HeardRun()
    app = listening_app(run)

    async def steps(pilot: Pilot[int]) -> None:
        await until(pilot, lambda: isinstance(app.screen, ConnectScreen) and app.screen.offers is not None)
        await pilot.press("f5", "enter")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        run.tell(Connected(BOARD), WiringKept("tail J1 reversed"), Started(0))
        await until(pilot, lambda: "wired: tail J1 reversed (kept)" in text_of(app))

    drive(app, (80, 24), steps)


def test_a_plain_harness_keeps_nothing_and_the_choice_comes_back() -> None:
    run = HeardRun()
    app = listening_app(run)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await asking(app, pilot, run)
        await pilot.press("n", "s")
        assert sorted(state.value for state in screen.assistant.picture().states.values()).count("skipped") == 1
        await press_what_is_asked(pilot, run, screen)
        await until(pilot, lambda: words.PLAIN[:30] in text_of(app))
        assert kept_wirings() == []
        await pilot.press("o")
        await until(pilot, lambda: isinstance(app.screen, ConnectScreen))

    drive(app, (80, 24), steps)
