"""The flex watch of the real app on the real run: the pilot bends the film of a practice membrane, step by step.

The bench runs in virtual time and only as far as the pilot lets it, so that hand and screen are never apart.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Coroutine
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from textual.pilot import Pilot

from tailwise.judge.document import to_bytes
from tailwise.judge.judge import judge_recording
from tailwise.layoutfile.library import find_layout
from tailwise.link.base import Link
from tailwise.live.run import Run, RunSettings
from tailwise.model.fault import FaultKind
from tailwise.practice.bench import Bench, BenchLink, Setup
from tailwise.practice.naming import name_fault
from tailwise.practice.operator import Flex, Hold, Release, Step, Still
from tailwise.practice.planted import Episodes, Planted
from tailwise.procedure.flexstats import ALONE
from tailwise.procedure.holdset import hold_set
from tailwise.procedure.procedure import WHOLE, Stage
from tailwise.procedure.witness import separating, witnesses
from tailwise.recording.reader import read_recording
from tailwise.tui.app import TailwiseApp
from tailwise.tui.choices import Place
from tailwise.tui.connect import Chosen
from tailwise.tui.runscreen import RunScreen
from tailwise.tui.verdictscreen import VerdictScreen
from tests.tui.scripted import PORT, drive, small_offers, text_of, until

DEMO = find_layout("demo-7x6")
SECOND = 1_000_000
ZONES = [zone.name for zone in DEMO.zones]


class HeldBack(BenchLink):
    """A bench that goes no further than it is let."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self._may = threading.Condition()
        self._until_us = 0

    def let(self, until_us: int) -> None:
        """Run time may pass up to here."""
        with self._may:
            self._until_us = until_us
            self._may.notify_all()

    def read(self, timeout_s: float) -> bytes:
        """As soon as time may pass."""
        with self._may:
            self._may.wait_for(lambda: (self.bench.run_us() or 0) < self._until_us or self._closed.is_set(), timeout=0.2)
            if (self.bench.run_us() or 0) >= self._until_us > 0:
                return b""
        return super().read(timeout_s)


STEP_US = 100_000
LAG_US = 110_000
"""The screen is told of the run twenty times a second, and of a reading once a STATE confirms it."""


@dataclass
class Hand:
    """The pilot's hand: steps of the script and keys of the app, each in its time."""

    app: TailwiseApp
    pilot: Pilot[int]
    link: HeldBack
    at_us: int = 0
    screen: RunScreen = field(init=False)

    async def begin(self) -> None:
        """Through the cautions and the rest check."""
        self.link.let(3 * SECOND)
        await self.pilot.press("enter")
        await until(self.pilot, lambda: isinstance(self.app.screen, RunScreen))
        screen = self.app.screen
        assert isinstance(screen, RunScreen)
        self.screen = screen
        await self.wait(3.0)

    async def wait(self, run_s: float) -> None:
        """Let time pass up to here, in steps so small that the screen sees every episode, however fast the bench runs."""
        end_us = round(run_s * SECOND)
        while self.at_us < end_us:
            self.at_us = min(end_us, self.at_us + STEP_US)
            self.link.let(self.at_us)
            await until(self.pilot, lambda: self.screen.procedure.sight.at_us >= self.at_us - LAG_US)

    async def watch(self, choice: str) -> None:
        """Choose what to watch."""
        await self.pilot.press("w")
        await self.pilot.pause()
        lines = self.app.screen.query_one("#lines")
        lines.highlighted = [option.id for option in lines.options].index(choice)  # type: ignore[attr-defined]
        await self.pilot.press("enter")
        await until(self.pilot, lambda: self.screen.procedure.stage is Stage.FLEX)


def app_of(link: HeldBack, folder: Path) -> TailwiseApp:
    def opener(url: str, *, realtime: bool = False) -> Link:
        return link

    def make(settings: RunSettings) -> Run:
        return Run(settings, opener)

    start = Chosen(Place("/dev/ttyTEST0", ""), DEMO, "shelf 3")
    return TailwiseApp(start=start, make_run=make, record=folder, ports=lambda: [PORT], offers=small_offers)


def cracked(line: str, *script: Step) -> HeldBack:
    episodes = Episodes("fold", 1.5, 0.0, open_ms=(0.02, 60.0), openings=(1, 12), gap_ms=(0.5, 20.0))
    fault = name_fault(DEMO, FaultKind.INTERMITTENT_LINE, (line,))
    return HeldBack(Bench(Setup(DEMO, script, (Planted(fault, episodes=episodes),), seed=9)))


def let_go_after(app: TailwiseApp, link: HeldBack, steps: Callable[[Pilot[int]], Coroutine[Any, Any, None]]) -> None:
    """Take the steps; whatever happens, the bench may go on in the end."""

    async def then_free(pilot: Pilot[int]) -> None:
        try:
            await steps(pilot)
        finally:
            link.let(10_000 * SECOND)

    drive(app, (100, 36), then_free)


async def verdict(hand: Hand, folder: Path) -> dict[str, object]:
    """End the run: its findings, which its recording must say again."""
    app, pilot = hand.app, hand.pilot
    await pilot.press("4")
    await until(pilot, lambda: isinstance(app.screen, VerdictScreen))
    await pilot.press("e")
    hand.link.let(200 * SECOND)
    await until(pilot, lambda: hand.screen.finished is not None)
    finished = hand.screen.finished
    assert finished is not None
    (recording,) = folder.glob("*.twrec")
    assert to_bytes(judge_recording(read_recording(recording))) == finished.data
    (finding,) = finished.document["findings"]
    assert isinstance(finding, dict)
    return finding


def test_a_cracked_line_is_found_through_its_witnesses(tmp_path: Path) -> None:
    keys = witnesses(DEMO, "C4").keys
    still, bent = 25.0, 6.0
    script: tuple[Step, ...] = (Hold(keys), Still(still), *(Flex(zone, bent) for zone in ZONES[:3]), Still(60.0), Release())
    link = cracked("C4", *script)
    app = app_of(link, tmp_path)

    async def steps(pilot: Pilot[int]) -> None:
        hand = Hand(app, pilot, link)
        await hand.begin()
        await hand.watch("C4")
        assert all(key in text_of(app) for key in ("Hold down", *keys))
        await pilot.press("space")
        (still_from,) = [span.start_us for span in link.bench.performance.flexed if span.name == "socket"]
        flex_at = still_from / SECOND
        for number in range(3):
            await hand.wait(flex_at + number * bent)
            await pilot.press("space")
            await pilot.pause()
        flex = hand.screen.procedure.flex
        assert flex is not None and flex.step == "fold"
        await hand.wait(flex_at + 3 * bent - 0.2)
        shown = text_of(app)
        assert "at one instant" in shown and "us or longer is missed" in shown
        assert "X" in shown and "opened for" in shown
        assert flex.tallies["fold"].episodes >= 3 and "it moves here" in shown
        assert not any(flex.tallies[step].episodes for step in (ALONE, "socket", "tail"))
        finding = await verdict(hand, tmp_path)
        assert (finding["kind"], finding["lines"], finding["zone"]) == ("intermittent_line", ["C4"], "fold")
        assert any("a second (95 %" in sentence for sentence in finding["evidence"])  # type: ignore[attr-defined]

    let_go_after(app, link, steps)


def test_the_whole_keyboard_first_then_row_and_column_apart(tmp_path: Path) -> None:
    held = hold_set(DEMO).keys
    suspect = next(key for key in held if "C5" in DEMO.key_by_id[key].crosspoints[0])
    apart = separating(DEMO, suspect)
    assert apart is not None
    whole: tuple[Step, ...] = (Hold(held), Still(40.0), *(Flex(zone, 6.0) for zone in ZONES[:3]), Still(2.0), Release())
    script = (*whole, Hold(apart.keys), Still(6.0), Flex("fold", 8.0), Still(60.0), Release())
    link = cracked("C5", *script)
    app = app_of(link, tmp_path)

    async def steps(pilot: Pilot[int]) -> None:
        hand = Hand(app, pilot, link)
        await hand.begin()
        await hand.watch(WHOLE)
        bends = [span.start_us / SECOND for span in link.bench.performance.flexed]
        await pilot.press("space")
        for at in bends[:3]:
            await hand.wait(at)
            await pilot.press("space")
            await pilot.pause()
        await hand.wait(bends[2] + 6.1)
        assert hand.screen.procedure.suspect_key == suspect
        assert f"{suspect} drops out at: fold" in text_of(app)
        await pilot.press("c")
        await hand.wait(bends[2] + 9.0)
        await hand.watch("apart " + suspect)
        await pilot.press("space")
        await hand.wait(bends[3] - 0.3)
        for _ in range(3):
            await pilot.press("space")
        await hand.wait(bends[3] + 8.0)
        flex = hand.screen.procedure.flex
        assert flex is not None and flex.pairs == apart.pairs
        finding = await verdict(hand, tmp_path)
        assert (finding["kind"], finding["lines"], finding["zone"]) == ("intermittent_line", ["C5"], "fold")

    let_go_after(app, link, steps)
