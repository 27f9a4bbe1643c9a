"""The README's pictures of the app: `python -m tests.tui.pictures` writes them to fixtures/pictures.

The press walk is a scripted run stopped in the middle; the verdict is the default practice scenario, played in virtual time.
"""

from __future__ import annotations

import re
from pathlib import Path

from textual.pilot import Pilot

from tailwise.practice.catalogue import DEFAULT_SCENARIO, find_scenario
from tailwise.tui.app import TailwiseApp
from tailwise.tui.choices import PRACTICE, Place
from tailwise.tui.connect import Chosen
from tailwise.tui.verdictscreen import VerdictScreen
from tests.tui.scripted import ScriptedRun, app_on, begin, drive, until
from tests.tui.test_practice import virtual

FOLDER = Path(__file__).resolve().parent.parent.parent / "fixtures" / "pictures"


def svg_of(app: TailwiseApp) -> str:
    """The screen as SVG that loads nothing from elsewhere."""
    svg = re.sub(r"@font-face\s*{[^}]*}|<!--.*?-->", "", app.export_screenshot(title="tailwise"))
    svg = re.sub(r"font-family:[^;]*;", "font-family: monospace; white-space: pre;", svg)
    svg = re.sub(r'<g transform="translate\(26,22\)">.*?</g>', "", svg, flags=re.DOTALL)
    return re.sub(r"[ \t]+$", "", svg.replace("<svg ", '<svg xml:space="preserve" ', 1), flags=re.MULTILINE)


def press_walk() -> str:
    """A walk in the middle: keys seen, one silent, one that opened while held, one skipped, one down."""
    run = ScriptedRun()
    app = app_on(run)
    found: list[str] = []

    async def steps(pilot: Pilot[int]) -> None:
        screen = await begin(pilot, run)
        walk = screen.procedure.walk
        for key in ("1", "2", "3", "4", "5", "6", "7", "8", "9", "0", "DEL", "Q", "W"):
            run.press(key)
            await until(pilot, lambda key=key: walk.notes[key].value == "seen")  # type: ignore[misc]
        for _ in range(3):
            run.look(800_000)
            await pilot.press("n")
        run.press("R")
        await pilot.press("s")
        run.press("Y")
        run.drops["9"] = 2
        run.down.add("H")
        run.presses["H"] = 1
        run.look()
        await until(pilot, lambda: "H" in screen.procedure.sight.down)
        await pilot.pause()
        found.append(svg_of(app))

    drive(app, (80, 24), steps)
    return found[0]


def verdict() -> str:
    """The verdict on the default practice scenario."""
    played = find_scenario(DEFAULT_SCENARIO)
    place = Place(PRACTICE + DEFAULT_SCENARIO, played.story, played.setup.layout.id)
    app = TailwiseApp(start=Chosen(place, played.setup.layout, "shelf 3"), make_run=virtual)
    found: list[str] = []

    async def steps(pilot: Pilot[int]) -> None:
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, VerdictScreen) and app.screen.final)
        await pilot.pause()
        found.append(svg_of(app))

    drive(app, (90, 34), steps)
    return found[0]


if __name__ == "__main__":
    FOLDER.mkdir(parents=True, exist_ok=True)
    (FOLDER / "press-walk.svg").write_text(press_walk(), encoding="utf-8")
    (FOLDER / "verdict.svg").write_text(verdict(), encoding="utf-8")
