"""Lines without a layout, on the screen."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.containers import VerticalScroll
from textual.pilot import Pilot

from tailwise.learn.raw import RawPicture
from tailwise.link.base import Link
from tailwise.live.run import Run, RunSettings
from tailwise.practice.bench import Bench, BenchLink
from tailwise.practice.boardkind import BoardKind
from tailwise.practice.catalogue import find_scenario
from tailwise.tui.app import TailwiseApp
from tailwise.tui.connect import ConnectScreen
from tailwise.tui.rawmap import LABEL_WIDE, arrangement, raw_map
from tailwise.tui.rawscreen import RawScreen
from tailwise.words import raw as words
from tests.tui.heard import HeardRun, listening_app
from tests.tui.scripted import PORT, drive, small_offers, text_of, until


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path))


def picture(lines: int, **more: object) -> RawPicture:
    nothing: frozenset[tuple[int, int]] = frozenset()
    values: dict[str, object] = {
        "lines": lines,
        "resting": False,
        "now": nothing,
        "ever": nothing,
        "stuck": nothing,
        "flickers": {},
        "line_flickers": {},
        "blind_us": 0,
        "run_us": 0,
        **more,
    }
    return RawPicture(**values)  # type: ignore[arg-type]


@given(st.integers(1, 40), st.integers(20, 200), st.integers(5, 60))
def test_what_fits_is_drawn_whole(lines: int, width: int, height: int) -> None:
    blocks, cell = arrangement(lines, width, height)
    rows = raw_map(picture(lines), width, height, plain=True).plain.split("\n")
    assert len(rows) == -(-lines // blocks) + (1 if cell == 3 else 2)
    if cell > 1:
        assert len(rows) <= height
    if (blocks, cell) != (1, 1):
        assert max(len(row.rstrip()) for row in rows) <= width
    labels = [word for row in rows for word in row.split() if word.startswith("L")]
    assert sorted(labels, key=lambda word: int(word[1:])) == [f"L{line}" for line in range(lines)]


def test_signs_say_the_most_telling() -> None:
    shown = picture(
        4,
        now=frozenset({(0, 1), (2, 3), (3, 2)}),
        ever=frozenset({(0, 1), (2, 3), (0, 3)}),
        stuck=frozenset({(2, 3)}),
        flickers={(0, 3): 2},
    )
    row = raw_map(shown, 40, 10, plain=True).plain.split("\n")[1]
    assert row[LABEL_WIDE:].split() == [words.SELF, words.NOW, words.NEVER, words.FLICKERS]
    assert words.STUCK in raw_map(shown, 40, 10, plain=False).plain


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_24_lines_fit_and_show_what_happens(size: tuple[int, int]) -> None:
    run = HeardRun()
    app = listening_app(run)

    async def steps(pilot: Pilot[int]) -> None:
        await until(pilot, lambda: isinstance(app.screen, ConnectScreen) and app.screen.offers is not None)
        await pilot.press("f4", "enter")
        await until(pilot, lambda: isinstance(app.screen, RawScreen))
        screen = app.screen
        assert isinstance(screen, RawScreen)
        run.begin_to_listen()
        await until(pilot, lambda: words.NO_STUCK in text_of(app))
        run.hear_presses("1", "2")
        await until(pilot, lambda: text_of(app).count(words.EVER) >= 4)
        await pilot.pause()
        scroll = screen.query_one("#raw", VerticalScroll)
        assert scroll.max_scroll_y == 0
        assert "L23" in text_of(app)
        await pilot.press("c")
        await until(pilot, lambda: not screen.raw.picture().ever)
        await pilot.press("o")
        await until(pilot, lambda: isinstance(app.screen, ConnectScreen))
        assert run.stopped

    drive(app, size, steps)


@pytest.mark.parametrize("lines", [16, 40])
def test_a_real_run_on_a_board_of_any_size(lines: int) -> None:
    setup = replace(find_scenario("dead-key").setup, board=BoardKind(line_count=lines))

    def opener(url: str, *, realtime: bool = False) -> Link:
        return BenchLink(Bench(setup), url)

    def made(settings: RunSettings) -> Run:
        return Run(settings, opener)

    app = TailwiseApp(make_run=made, ports=lambda: [PORT], offers=small_offers)

    async def steps(pilot: Pilot[int]) -> None:
        await until(pilot, lambda: isinstance(app.screen, ConnectScreen) and app.screen.offers is not None)
        await pilot.press("f4", "enter")
        await until(pilot, lambda: isinstance(app.screen, RawScreen) and app.screen.over)
        screen = app.screen
        assert isinstance(screen, RawScreen)
        now = screen.raw.picture()
        assert screen.lines == now.lines == lines
        assert len(now.ever) == 2 * 41
        assert not now.stuck and not now.flickers
        await until(pilot, lambda: words.OVER in text_of(app))

    drive(app, (80, 24), steps)
