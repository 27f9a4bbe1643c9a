from __future__ import annotations

import errno

import pytest
from textual.pilot import Pilot

from tailwise.live.events import BoardRestarted, LinesChecked, LinkDown, LinkUp, Refused, Started
from tailwise.model.mark import Deed
from tailwise.model.observation import LineHeld
from tailwise.procedure.walk import KeyNote
from tailwise.tui.app import TailwiseApp
from tailwise.tui.choices import Place
from tailwise.tui.connect import Chosen
from tailwise.tui.dialogs import Cautions, Help, LinePicker
from tailwise.tui.mapview import MapView
from tailwise.tui.runscreen import RunScreen
from tailwise.tui.verdictscreen import VerdictScreen
from tailwise.words import app as words
from tailwise.words import stages as stage_words
from tests.tui.scripted import LAYOUT, ScriptedRun, app_on, begin, drive, small_offers, text_of, until

SIZES = [(80, 24), (120, 40)]


def flat(text: str) -> str:
    return " ".join(text.replace("▌", " ").split())


@pytest.mark.parametrize("size", SIZES)
def test_every_stage_from_the_cautions_to_the_verdict(size: tuple[int, int]) -> None:
    run = ScriptedRun()
    app = app_on(run)

    async def steps(pilot: Pilot[int]) -> None:
        assert isinstance(app.screen, Cautions)
        assert run.settings is None
        assert "Never test on a powered board" in flat(text_of(app))
        screen = await begin(pilot, run)
        assert "Press  1  once" in text_of(app)
        run.press("1")
        await until(pilot, lambda: screen.procedure.walk.asked == "2")
        await until(pilot, lambda: [(mark.do, mark.key) for mark in run.marks] == [(Deed.PRESS, "1")])
        await pilot.press("w")
        assert isinstance(app.screen, LinePicker)
        await pilot.press("home", "enter")
        await until(pilot, lambda: "Watching R1" in text_of(app))
        run.down.add("1")
        run.presses["1"] += 1
        run.look()
        await until(pilot, lambda: run.marks[-1].do is Deed.HOLD)
        await pilot.press("space", "space")
        assert [(mark.do, mark.zone) for mark in run.marks[-2:]] == [(Deed.STILL, None), (Deed.FLEX, "socket")]
        run.drops["1"] = 1
        run.look()
        await until(pilot, lambda: "1 opened (socket)" in text_of(app))
        await pilot.press("4")
        await until(pilot, lambda: "UNPROVEN" in text_of(app))
        assert run.marks[-1].do is Deed.RELEASE
        await pilot.press("e")
        await until(pilot, lambda: "FAULTY" in text_of(app))
        assert run.stopped
        assert "A trace is broken" in text_of(app)

    drive(app, size, steps)


def test_pressed_nothing_happened_three_times_then_the_next_key() -> None:
    run = ScriptedRun()
    app = app_on(run)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await begin(pilot, run)
        for times in (1, 2, 3):
            run.look(500_000)
            await pilot.press("n")
            assert screen.procedure.walk.tries["1"] == times
        assert [mark.do for mark in run.marks] == [Deed.PRESS, Deed.NOTE] * 3
        assert screen.procedure.walk.notes["1"] is KeyNote.MUTE
        following = screen.procedure.walk.asked
        assert following is not None
        await pilot.press("s")
        assert screen.procedure.walk.notes[following] is KeyNote.SKIPPED
        await pilot.press("b")
        assert screen.procedure.walk.asked == following
        await pilot.pause()
        shown = text_of(app)
        assert stage_words.STATE_WORDS["mute"] in shown
        assert f"{following}  {stage_words.SYMBOLS['asked']}" in shown

    drive(app, (80, 24), steps)


def test_another_key_answers_and_the_operator_says_which_it_was() -> None:
    run = ScriptedRun()
    app = app_on(run)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await begin(pilot, run)
        run.press("6")
        await until(pilot, lambda: "6 answered" in text_of(app))
        await pilot.press("y")
        assert (run.marks[0].do, run.marks[0].key) == (Deed.PRESS, "1")
        assert screen.procedure.walk.by_name
        run.press("5")
        await until(pilot, lambda: screen.procedure.walk.landed == {"1": "6", "2": "5"})

    drive(app, (80, 24), steps)


def test_the_map_redraws_only_what_changes() -> None:
    run = ScriptedRun()
    app = app_on(run)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await begin(pilot, run)
        shown = screen.query_one("#map", MapView)
        await pilot.pause()
        before, at_us = shown.redrawn, screen.procedure.sight.at_us
        run.look()
        await until(pilot, lambda: screen.procedure.sight.at_us > at_us)
        assert shown.redrawn == before
        run.down.add("G")
        run.presses["G"] = 1
        run.look()
        await until(pilot, lambda: "G" in screen.procedure.sight.down)
        await pilot.pause()
        assert 0 < shown.redrawn - before <= 2 * 3

    drive(app, (80, 24), steps)


def test_unplugged_in_the_middle_is_said_keeps_everything_and_goes_on() -> None:
    run = ScriptedRun()
    app = app_on(run)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await begin(pilot, run)
        run.press("1")
        await until(pilot, lambda: screen.procedure.walk.asked == "2")
        run.tell(LinkDown("the cable is out", "Plug it in."))
        await until(pilot, lambda: stage_words.LINK_DOWN in text_of(app))
        assert "Nothing is lost that was read. Next: Plug it in." in flat(text_of(app))
        assert screen.procedure.walk.notes["1"] is KeyNote.SEEN
        run.tell(LinkUp("/dev/ttyTEST1"), Started(9_000_000, again=True))
        run.at_us = 9_000_000
        run.look()
        await until(pilot, lambda: words.started(True) in text_of(app))
        assert "LINK LOST" not in text_of(app)
        run.press("2")
        await until(pilot, lambda: screen.procedure.walk.asked == "3")

    drive(app, (80, 24), steps)


def test_a_restarted_board_and_a_held_line_are_said() -> None:
    run = ScriptedRun()
    app = app_on(run)

    async def steps(pilot: Pilot[int]) -> None:
        await begin(pilot, run)
        run.tell(BoardRestarted("brown-out"))
        await until(pilot, lambda: "brown-out" in text_of(app))
        run.tell(LinesChecked({"R1": LineHeld.HIGH, "R2": LineHeld.CLEAR}))
        await until(pilot, lambda: "outside on R1" in text_of(app))
        run.tell(Refused("a line is held", "the computer is on", "unplug the computer"))
        run.finish(verdict="untestable", findings=[])
        await until(pilot, lambda: "UNTESTABLE" in text_of(app))
        assert "unplug the computer" in flat(text_of(app))
        await pilot.press("o")
        await until(pilot, lambda: words.WHERE_TITLE in text_of(app))

    drive(app, (80, 24), steps)


def test_an_error_in_the_worker_is_shown_and_the_app_lives_on() -> None:
    run = ScriptedRun()
    app = app_on(run)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await begin(pilot, run)
        run.told.put(OSError(errno.ENOSPC, "no space left on the disk"))
        await until(pilot, lambda: "no space left on the disk" in flat(text_of(app)))
        assert not screen.running
        await pilot.press("o")
        await until(pilot, lambda: words.WHERE_TITLE in text_of(app))

    drive(app, (80, 24), steps)


@pytest.mark.parametrize("sizes", [[(80, 24), (120, 40), (60, 20), (80, 24)], [(30, 8), (200, 60)]])
def test_resizing_at_any_moment(sizes: list[tuple[int, int]]) -> None:
    run = ScriptedRun()
    app = app_on(run)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await begin(pilot, run)
        for width, height in sizes:
            await pilot.resize_terminal(width, height)
            await until(pilot, lambda width=width, height=height: tuple(app.size) == (width, height))  # type: ignore[misc]
            run.press("1")
            at_us = run.at_us
            await until(pilot, lambda at_us=at_us: screen.procedure.sight.at_us == at_us)  # type: ignore[misc]
            await pilot.pause()
            if width >= 60:
                pieces = screen.query_one("#map", MapView).map.pieces
                assert {piece.key for piece in pieces} == {key.id for key in screen.procedure.layout.keys}

    drive(app, (100, 30), steps)


def test_leaving_asks_once_and_ends_the_run() -> None:
    run = ScriptedRun()
    app = app_on(run)

    async def steps(pilot: Pilot[int]) -> None:
        await begin(pilot, run)
        await pilot.press("q")
        assert not run.stopped
        await pilot.press("q")
        await until(pilot, lambda: run.stopped)

    drive(app, (80, 24), steps)
    assert app.return_value == 0


def test_help_lists_signs_and_keys_and_mute_silences() -> None:
    run = ScriptedRun()
    app = app_on(run)

    async def steps(pilot: Pilot[int]) -> None:
        await begin(pilot, run)
        await pilot.press("f1")
        assert isinstance(app.screen, Help)
        await pilot.pause()
        assert stage_words.STATE_MEANINGS["doubt"] in text_of(app)
        await pilot.press("escape", "m")
        assert app.muted
        await until(pilot, lambda: words.SOUND["off"] in text_of(app))

    drive(app, (120, 60), steps)


def test_keys_can_be_given_other_keys() -> None:
    run = ScriptedRun()
    app = app_on(run, {"nothing": "x"})

    async def steps(pilot: Pilot[int]) -> None:
        screen = await begin(pilot, run)
        run.look(500_000)
        assert "x pressed, nothing happened" in text_of(app)
        await pilot.press("n")
        assert not screen.procedure.walk.tries
        await pilot.press("x")
        assert screen.procedure.walk.tries == {"1": 1}

    drive(app, (80, 24), steps)


def test_without_colour_every_cell_is_plain_and_every_state_still_readable(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    run = ScriptedRun()
    app = app_on(run)

    async def steps(pilot: Pilot[int]) -> None:
        await begin(pilot, run)
        await pilot.pause()
        strips = app.screen._compositor.render_strips()
        filtered = [strip.apply_filter(one, app.screen.background_colors[1]) for strip in strips for one in app._filters[-1:]]
        styles = [segment.style for strip in filtered for segment in strip if segment.style is not None]
        assert styles
        assert all(style.color is None or style.color.is_default for style in styles)
        assert all(style.bgcolor is None or style.bgcolor.is_default for style in styles)
        assert f"1  {stage_words.SYMBOLS['asked']}" in text_of(app)
        assert stage_words.STATE_WORDS["asked"] in text_of(app)

    drive(app, (80, 24), steps)


def test_the_verdict_so_far_leads_back_to_the_test() -> None:
    run = ScriptedRun()
    app = app_on(run)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await begin(pilot, run)
        await pilot.press("4")
        await until(pilot, lambda: "UNPROVEN" in text_of(app))
        assert isinstance(app.screen, VerdictScreen)
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        assert screen.procedure.stage.value == "walk"
        assert not run.stopped

    drive(app, (80, 24), steps)


def test_on_the_practice_bench_the_story_is_told_and_nothing_is_vouched_for() -> None:
    run = ScriptedRun()
    place = Place("practice:one", "A story of one column.", LAYOUT.id)
    app = TailwiseApp(start=Chosen(place, LAYOUT, ""), make_run=run.made, ports=list, offers=small_offers)

    async def steps(pilot: Pilot[int]) -> None:
        screen = await begin(pilot, run)
        await until(pilot, lambda: "A story of one column." in text_of(app))
        run.press("1")
        await until(pilot, lambda: screen.procedure.walk.notes["1"] is KeyNote.SEEN)
        await until(pilot, lambda: "1 of 42 keys answered" in text_of(app))
        await pilot.press("n", "s", "y")
        assert run.marks == []
        assert screen.procedure.walk.those(KeyNote.SKIPPED) == ()

    drive(app, (80, 24), steps)
