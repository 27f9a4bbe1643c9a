"""Ways of putting tails in wrongly."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tailwise.harness.seatings import MOST_CHANGES, Turn, wrong_seatings
from tailwise.layoutfile.library import find_layout, shipped_ids

DEMO = find_layout("demo-7x6")


def test_each_way_moves_the_lines_by_one_rule() -> None:
    by_turns = {(seating.turns, seating.exchanged): seating.moves for seating in wrong_seatings(DEMO)}
    turned = by_turns[((Turn("J1", reversed=True),), 0)]
    assert [turned[f"R{number}"] for number in range(1, 8)] == [f"R{number}" for number in range(7, 0, -1)]
    assert turned["C1"] == "C1"
    shifted = by_turns[((Turn("J2", by=1),), 0)]
    assert [shifted[f"C{number}"] for number in range(1, 7)] == ["C2", "C3", "C4", "C5", "C6", None]
    exchanged = by_turns[((), 1)]
    assert (exchanged["R1"], exchanged["C1"], exchanged["R7"]) == ("C1", "R1", None)


def test_contacts_without_a_line_are_counted_and_skipped() -> None:
    tails = DEMO.tails or ()
    gap = replace(tails[1], contacts=("C1", None, *tails[1].contacts[1:]))
    ways = [seating.moves for seating in wrong_seatings(replace(DEMO, tails=(tails[0], gap)))]
    assert any(moves["C1"] is None and moves["C2"] == "C3" and moves["R1"] == "R1" for moves in ways)
    assert any(moves["C1"] == "C2" and moves["C2"] == "C3" and moves["R1"] == "R1" for moves in ways)


@pytest.mark.parametrize("name", shipped_ids())
def test_no_way_puts_two_lines_on_one_contact_and_none_comes_twice(name: str) -> None:
    layout = find_layout(name)
    seen = []
    for seating in wrong_seatings(layout):
        places = [at for at in seating.moves.values() if at is not None]
        assert len(set(places)) == len(places)
        assert 0 < seating.changes <= MOST_CHANGES
        assert any(line != at for line, at in seating.moves.items())
        seen.append(tuple(sorted(seating.moves.items())))
    assert len(set(seen)) == len(seen)
    assert bool(seen) is bool(layout.tails)
