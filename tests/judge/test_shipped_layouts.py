"""Every shipped layout: all its keys pressed once on an ideal board are sound, each key seen."""

from __future__ import annotations

import pytest

from tailwise.judge.judge import Judge
from tailwise.layoutfile.library import find_layout, shipped_ids
from tests.observe.board import MS, Board

DESCRIBED = [name for name in shipped_ids() if find_layout(name).keys]


@pytest.mark.parametrize("name", DESCRIBED)
def test_all_keys_pressed_once_are_sound(name: str) -> None:
    layout = find_layout(name)
    board = Board(layout, board_lines=40, scan_us=600, state_us=40 * MS)
    end = board.walk(each_us=250 * MS)
    judge = Judge(board.header())
    for record in board.records(end):
        judge.feed(record)
    document = judge.document()
    reached = [key.id for key in layout.keys if key.crosspoints]
    assert (document["verdict"], document["findings"]) == ("sound", [])
    assert document["coverage"] == {
        "keys": len(reached),
        "tried": len(reached),
        "untried": [],
        "presses": len(reached),
        "miss_bound_95": 0.95,
    }
    assert {attempt.result.value for attempt in judge.observations().attempts} == {"seen"}
