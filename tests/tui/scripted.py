"""A run that tells what a test hands it, and an app on top of it."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Coroutine, Iterator, Sequence
from dataclasses import dataclass, field
from queue import SimpleQueue
from typing import Any

from textual.pilot import Pilot

from tailwise.layoutfile.library import find_layout
from tailwise.link.ports import PortInfo
from tailwise.live.events import Connected, Connecting, Finished, LiveEvent, Progress, Started
from tailwise.live.run import RunSettings
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import LinkCounts, Pair
from tailwise.observe.snapshot import KeyPicture, KeyState, Snapshot
from tailwise.tui.app import TailwiseApp
from tailwise.tui.choices import Offers, Place
from tailwise.tui.connect import Chosen
from tailwise.tui.runscreen import RunScreen
from tailwise.wire.messages import Identity
from tests.tui.test_verdict_page import findings_document

LAYOUT = find_layout("demo-7x6")
OTHER = find_layout("demo-8x8")
PORT = PortInfo("/dev/ttyTEST0", "a harness", (0x2341, 0x0042))
BOARD = Identity(1, 1, 1, 1, 0, 0, 24, 1, 62, 1000, 10000, 200, 64, b"", b"", "bench board")
LOOKS = 1500
"""How often a condition is looked at before a test gives up."""


@dataclass
class ScriptedRun:
    """Told events go to the app in order; marks come back."""

    settings: RunSettings | None = None
    marks: list[Mark] = field(default_factory=list)
    watched: list[tuple[Pair, ...]] = field(default_factory=list)
    stopped: bool = False
    at_us: int = 0
    presses: dict[str, int] = field(default_factory=dict)
    drops: dict[str, int] = field(default_factory=dict)
    down: set[str] = field(default_factory=set)
    told: SimpleQueue[LiveEvent | OSError] = field(default_factory=SimpleQueue)

    def made(self, settings: RunSettings) -> ScriptedRun:
        """What the app calls to make its run."""
        self.settings = settings
        return self

    def events(self) -> Iterator[LiveEvent]:
        """What the test tells, until the end."""
        while True:
            event = self.told.get()
            if isinstance(event, OSError):
                raise event
            yield event
            if isinstance(event, Finished):
                return

    def stop(self) -> None:
        """End."""
        if not self.stopped:
            self.stopped = True
            self.finish()

    def finish(self, **changes: Any) -> None:
        """The last event."""
        document = findings_document(**changes)
        self.told.put(Finished(document, json.dumps(document).encode()))

    def add_mark(
        self,
        do: Deed,
        *,
        key: str | None = None,
        zone: str | None = None,
        tail: str | None = None,
        text: str | None = None,
        at_us: int | None = None,
    ) -> None:
        """Keep the mark."""
        self.marks.append(Mark(at_us or 0, do, key, zone, tail, text))

    def watch(self, pairs: Sequence[Pair]) -> None:
        """Keep what is to be watched."""
        self.watched.append(tuple(pairs))

    def document(self) -> dict[str, Any]:
        """So far."""
        return findings_document(verdict="unproven", findings=[])

    def tell(self, *events: LiveEvent) -> None:
        """Tell events."""
        for event in events:
            self.told.put(event)

    def start(self) -> None:
        """Connect, scan, and let the rest check pass."""
        self.tell(Connecting("/dev/ttyTEST0"), Connected(BOARD), Started(0))
        self.look()
        self.at_us = 2_000_000
        self.look()

    def look(self, after_us: int = 50_000) -> None:
        """A look at the board."""
        self.at_us += after_us
        keys = {key.id: self._picture(key.id) for key in LAYOUT.keys}
        flickers = dict.fromkeys(LAYOUT.lines, 0)
        self.told.put(Progress(self.at_us, Snapshot(keys, flickers, (), self.at_us, LinkCounts())))

    def _picture(self, key: str) -> KeyPicture:
        presses = self.presses.get(key, 0)
        state = KeyState.CLOSED if key in self.down else KeyState.SEEN if presses else KeyState.NEVER
        return KeyPicture(state, presses, self.drops.get(key, 0))

    def press(self, key: str) -> None:
        """Press and let go."""
        self.down.add(key)
        self.presses[key] = self.presses.get(key, 0) + 1
        self.look()
        self.down.discard(key)
        self.look()


async def until(pilot: Pilot[int], holds: Callable[[], bool]) -> None:
    """Wait for a condition, looking a bounded number of times."""
    for _ in range(LOOKS):
        if holds():
            return
        await pilot.pause(0.01)
    assert holds()


async def begin(pilot: Pilot[int], run: ScriptedRun) -> RunScreen:
    """Read the cautions and get to the press walk."""
    await pilot.press("enter")
    await until(pilot, lambda: isinstance(pilot.app.screen, RunScreen))
    screen = pilot.app.screen
    assert isinstance(screen, RunScreen)
    run.start()
    await until(pilot, lambda: screen.procedure.stage.value == "walk")
    return screen


def app_on(run: ScriptedRun, keys: dict[str, str] | None = None) -> TailwiseApp:
    """The app, about to start on the scripted run."""
    start = Chosen(Place("/dev/ttyTEST0", ""), LAYOUT, "shelf 3")
    return TailwiseApp(start=start, make_run=run.made, ports=lambda: [PORT], offers=small_offers, keys=keys)


def small_offers() -> Offers:
    """Two layouts and two scenarios."""
    story = "The practice story."
    places = tuple(Place(f"practice:{name}", story, layout.id) for name, layout in (("one", LAYOUT), ("two", OTHER)))
    return Offers((LAYOUT, OTHER), places)


def drive(app: TailwiseApp, size: tuple[int, int], steps: Callable[[Pilot[int]], Coroutine[Any, Any, None]]) -> None:
    """Run the app without a terminal and take the steps."""

    async def body() -> None:
        async with app.run_test(size=size) as pilot:
            await steps(pilot)

    asyncio.run(body())


def text_of(app: TailwiseApp) -> str:
    """Everything on the screen as text."""
    width, height = app.size
    lines = app.screen._compositor.render_strips()
    return "\n".join(strip.text for strip in lines[:height])[: (width + 1) * height]
