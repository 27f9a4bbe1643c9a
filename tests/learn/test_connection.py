"""How tails went in, and arbitrary wirings."""

from __future__ import annotations

from tailwise.harness.wiring import plain_wiring
from tailwise.layoutfile.library import find_layout
from tailwise.learn.connection import Connection
from tailwise.learn.freewiring import FreeWiring
from tailwise.learn.placements import placements


def settle(board_line: dict[str, int]) -> Connection:
    layout = find_layout("demo-7x6")
    connection = Connection(layout, plain_wiring(layout))
    while (asked := connection.next_key()) is not None and connection.presses < 12:
        key = layout.key_by_id[asked]
        a, b = board_line.get(key.row or ""), board_line.get(key.column or "")
        connection.saw(asked, () if a is None or b is None else {(a, b), (b, a)})
    return connection


def test_every_placement_is_named_within_six_presses() -> None:
    layout = find_layout("demo-7x6")
    for way in placements(layout, plain_wiring(layout)):
        connection = settle(way.board_line)
        assert connection.settled is not None, way.words
        assert connection.settled.board_line == way.board_line, way.words
        assert connection.presses <= 6, way.words


def test_placements_have_the_words_of_the_trade() -> None:
    layout = find_layout("demo-7x6")
    said = {way.words for way in placements(layout, plain_wiring(layout))}
    assert {"right", "tail J1 reversed", "tail J2 shifted by 1 contact up", "tails swapped"} <= said


def test_a_wiring_of_no_known_kind_is_noticed_and_learned_line_by_line() -> None:
    layout = find_layout("demo-7x6")
    truth = {line: (5 * place + 3) % 13 for place, line in enumerate(layout.lines)}
    connection = settle(truth)
    assert connection.arbitrary and connection.settled is None
    free = FreeWiring(layout)
    while (asked := free.next_key()) is not None:
        key = layout.key_by_id[asked]
        a, b = truth[key.row or ""], truth[key.column or ""]
        free.saw(asked, {(a, b), (b, a)})
    assert free.board_line == truth
    assert free.presses <= 10


def test_a_slip_in_a_free_wiring_is_asked_again() -> None:
    layout = find_layout("demo-7x6")
    truth = {line: 20 - place for place, line in enumerate(layout.lines)}
    free = FreeWiring(layout)
    while (asked := free.next_key()) is not None and free.presses < 30:
        pressed = "5" if free.presses == 1 else asked
        key = layout.key_by_id[pressed]
        a, b = truth[key.row or ""], truth[key.column or ""]
        free.saw(asked, {(a, b), (b, a)})
    assert free.board_line == truth
