"""The whole app on the real run, the real judge and the practice bench in virtual time."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from tailwise.judge.document import to_bytes
from tailwise.judge.judge import judge_recording
from tailwise.link.base import Link
from tailwise.live.run import Run, RunSettings
from tailwise.practice.bench import open_practice
from tailwise.practice.catalogue import DEFAULT_SCENARIO, find_scenario
from tailwise.recording.reader import read_recording
from tailwise.tui.app import TailwiseApp
from tailwise.tui.choices import PRACTICE, Place
from tailwise.tui.connect import Chosen
from tailwise.tui.runscreen import RunScreen
from tailwise.tui.verdictscreen import VerdictScreen
from tailwise.words import stages as stage_words
from tailwise.words import verdictpage as words
from tests.tui.scripted import drive, text_of, until


def virtual(settings: RunSettings) -> Run:
    def opener(url: str, *, realtime: bool = False) -> Link:
        return open_practice(url.removeprefix(PRACTICE), realtime=False)

    return Run(settings, opener)


@pytest.mark.parametrize(
    ("scenario", "kind", "line"),
    [(DEFAULT_SCENARIO, "intermittent_line", "C4"), ("unplugged", None, None)],
)
def test_a_scenario_plays_to_its_verdict_and_the_recording_says_the_same(
    scenario: str, kind: str | None, line: str | None, tmp_path: Path
) -> None:
    played = find_scenario(scenario)
    place = Place(PRACTICE + scenario, played.story, played.setup.layout.id)
    app = TailwiseApp(start=Chosen(place, played.setup.layout, ""), make_run=virtual, record=tmp_path)

    async def steps(pilot: Pilot[int]) -> None:
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, VerdictScreen) and app.screen.final)
        await pilot.pause()
        run_screen = app.screen_stack[-2]
        assert isinstance(run_screen, RunScreen)
        assert run_screen.finished is not None
        assert run_screen.error == ""
        if kind is not None:
            assert f"{words.KINDS[kind]}: {line}" in text_of(app)
        (recording,) = tmp_path.iterdir()
        assert to_bytes(judge_recording(read_recording(recording))) == run_screen.finished.data
        await pilot.press("b")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        await until(pilot, lambda: stage_words.OVER in text_of(app))
        await pilot.press("4")
        await until(pilot, lambda: isinstance(app.screen, VerdictScreen))

    drive(app, (80, 24), steps)
