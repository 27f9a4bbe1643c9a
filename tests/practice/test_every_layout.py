"""Every shipped keyboard on the bench: each key alone reads as its layout says."""

from __future__ import annotations

import networkx
import pytest

from tailwise.harness.wiring import plain_wiring
from tailwise.layoutfile.library import find_layout, shipped_ids
from tailwise.practice.membrane import CONTACT_OHM, Membrane
from tailwise.practice.seating import proper_seat
from tailwise.practice.slots import OPEN, Change, Contact


@pytest.mark.parametrize("name", shipped_ids())
def test_each_key_alone_joins_its_lines_and_no_others(name: str) -> None:
    layout = find_layout(name)
    membrane = Membrane(layout, proper_seat(plain_wiring(layout).board_line))
    number = {line: pin for pin, line in membrane.seat.items()}
    with_diode = {each.line for each in layout.diodes} | {each.key for each in layout.diodes}
    for key in layout.keys:
        membrane.apply(Change(0, Contact(key.id), CONTACT_OHM))
        graph = networkx.Graph(list(key.crosspoints))
        readings = membrane.readings()
        if not key.crosspoints:
            assert readings == {}
        elif with_diode & ({key.id} | set(graph.nodes)):
            row, column = key.crosspoints[0]
            low_row, low_column = readings.get(number[row], 0), readings.get(number[column], 0)
            assert low_row >> number[column] & 1 or low_column >> number[row] & 1, key.id
        else:
            for group in networkx.connected_components(graph):
                for line in group:
                    assert readings[number[line]] == sum(1 << number[other] for other in group if other != line), key.id
        membrane.apply(Change(1, Contact(key.id), OPEN))
        assert membrane.readings() == {}
