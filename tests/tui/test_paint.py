from __future__ import annotations

import pytest

from tailwise.layoutfile.library import find_layout
from tailwise.procedure.outcome import Command
from tailwise.procedure.procedure import Procedure, Stage
from tailwise.tui import paint
from tailwise.tui.theme import PLAIN_STYLES, PLAIN_TRACES, STATE_STYLES
from tailwise.words import stages as words
from tests.procedure.sights import LAYOUT, Hands


def test_the_ribbon_names_every_stage_and_marks_where_the_run_stands() -> None:
    for stage in Stage:
        text = paint.ribbon(stage).plain
        assert all(name in text for name in words.STAGES.values())
        assert text.count("◆") == 1
        assert len(text) <= 78
        assert f"◆ {list(Stage).index(stage) + 1}" in text


@pytest.mark.parametrize("layout", ["demo-7x6", "demo-8x8"])
@pytest.mark.parametrize(("width", "roomy"), [(78, False), (118, False), (118, True), (58, False)])
def test_every_line_is_shown_within_the_width(layout: str, width: int, roomy: bool) -> None:
    procedure = Procedure(find_layout(layout))
    states = paint.state_values(procedure.states())
    text = paint.lines_panel(procedure, states, STATE_STYLES, width, roomy)
    assert all(len(row) <= width for row in text.plain.split("\n"))
    assert all(f"{line} ╾" in text.plain for line in procedure.layout.lines)
    assert len(text.plain.split("\n")) <= 8


def test_a_line_is_drawn_from_the_tail_outwards() -> None:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure)
    hands.look()
    for key in ("6", "5", "4"):
        hands.press(key)
    states = paint.state_values(procedure.states())
    text = paint.lines_panel(procedure, states, PLAIN_STYLES, 78).plain
    assert "R1 ╾●●●○○»" in text
    assert "R1 ╾ 6● 5● 4● 3○ 2○ 1»" in paint.lines_panel(procedure, states, PLAIN_STYLES, 118, roomy=True).plain


def test_signs_name_every_state_that_can_be_seen() -> None:
    text = paint.signs(78).plain
    assert all(len(row) <= 78 for row in text.split("\n"))
    for state in paint.SHOWN_SIGNS:
        assert f"{words.SYMBOLS[state]} {words.STATE_WORDS[state]}" in text


def test_the_strip_and_the_tallies_show_the_watch() -> None:
    procedure = Procedure(LAYOUT)
    hands = Hands(procedure)
    hands.look()
    procedure.watch("R1")
    hands.hold("1")
    hands.look()
    procedure.command(Command.NEXT)
    hands.look(20)
    hands.dropped["1"] = 1
    hands.look()
    flex = procedure.flex
    assert flex is not None
    strip = paint.strip(flex, 60, PLAIN_TRACES).plain.split("\n")[0]
    assert strip.startswith("R1 ")
    assert strip.endswith(words.TRACE_SYMBOLS[-1])
    assert len(strip) == 60
    tallies = paint.tallies(flex, 60).plain
    assert "left alone: 1 s, 1 episode" in tallies
    assert "1 opened" in tallies
