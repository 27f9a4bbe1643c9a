"""What planted faults make a board read, through the circuit."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from tailwise.circuit.network import Network, Node
from tailwise.harness.wiring import plain_wiring
from tailwise.layoutfile.library import find_layout
from tailwise.model.layout import Layout
from tailwise.practice.membrane import CONTACT_OHM, Membrane
from tailwise.practice.seating import proper_seat
from tailwise.practice.slots import OPEN, Bridge, Change, Contact, Slot, Stretch
from tests.circuit.spice import solve_with_ngspice

DEMO = find_layout("demo-7x6")
DIODES = find_layout("demo-10x8")

Pair = tuple[str, str]


def membrane(layout: Layout = DEMO, *keys: str, diodes: dict[str, str] | None = None) -> Membrane:
    made = Membrane(layout, proper_seat(plain_wiring(layout).board_line), diodes=diodes or {})
    for key in keys:
        made.apply(Change(0, Contact(key), CONTACT_OHM))
    return made


def put(made: Membrane, slot: Slot, ohm: float) -> Membrane:
    made.apply(Change(0, slot, ohm))
    return made


def closed(made: Membrane) -> set[Pair]:
    """(driven, sensed) by line name."""
    name = made.seat
    return {
        (name[driven], name[sensed]) for driven, low in made.readings().items() for sensed in range(24) if low >> sensed & 1
    }


def both(*pairs: Pair) -> set[Pair]:
    return set(pairs) | {(b, a) for a, b in pairs}


def test_a_key_joins_its_row_and_column_in_both_directions() -> None:
    assert closed(membrane()) == set()
    assert closed(membrane(DEMO, "G")) == both(("R5", "C4"))


def test_three_corners_of_a_rectangle_show_the_fourth() -> None:
    """Semtech UR5HCSPI encoder data sheet: three pressed keys that define a rectangle make the fourth read pressed."""
    assert DEMO.keys_at[frozenset(("R3", "C1"))] == ("P",)
    three = membrane(DEMO, "J", "S", "O")  # R5/C6, R5/C1, R3/C6; the fourth corner is P at R3/C1
    assert both(("R3", "C1")) <= closed(three)
    assert closed(three) == closed(membrane(DEMO, "J", "S", "O", "P"))


def test_diodes_on_the_rows_do_not_stop_the_rectangle_but_stop_rows_pulling_each_other() -> None:
    rows = {key.row for key in DIODES.keys[:20]}
    row, other = sorted(row for row in rows if row)[:2]
    columns = [key.column for key in DIODES.keys if key.row == row]
    shared = next(key.column for key in DIODES.keys if key.row == other and key.column in columns)
    keys = [key.id for key in DIODES.keys if key.row in (row, other) and key.column == shared]
    assert closed(membrane(DIODES, *keys)) == {(row, shared), (other, shared)}


def test_diode_faults_change_the_direction() -> None:
    key = DIODES.keys[0]
    assert key.row and key.column
    row, column = key.row, key.column
    assert closed(membrane(DIODES, key.id)) == {(row, column)}
    assert closed(membrane(DIODES, key.id, diodes={row: "shorted"})) == both((row, column))
    assert closed(membrane(DIODES, key.id, diodes={row: "reversed"})) == {(column, row)}
    assert closed(membrane(DIODES, key.id, diodes={row: "open"})) == set()


def test_a_broken_stretch_loses_the_keys_beyond_it_and_no_other() -> None:
    lost = {"G", "U", "9", "K"}
    for key in DEMO.keys_on["C4"]:
        made = put(membrane(DEMO, key), Stretch("C4", "G"), OPEN)
        assert bool(closed(made)) == (key not in lost)


def test_two_keys_on_an_open_line_join_their_partners_through_the_film() -> None:
    made = put(membrane(DEMO, "Z", "K"), Stretch("C4"), OPEN)
    assert closed(made) == both(("R7", "R6"))


def test_a_break_between_two_held_keys_loses_one_and_joins_nothing() -> None:
    made = put(membrane(DEMO, "A", "K"), Stretch("C4", "G"), OPEN)
    assert closed(made) == both(("R4", "C4"))


def test_a_short_pairs_every_key_with_one_on_the_other_line() -> None:
    made = put(membrane(), Bridge("R3", "R4"), 40.0)
    assert closed(made) == both(("R3", "R4"))
    made = put(membrane(DEMO, "T"), Bridge("R3", "R4"), 40.0)
    assert closed(made) == both(("R3", "R4"), ("R3", "C2"), ("R4", "C2"))


def test_a_leak_reads_by_its_resistance_against_the_pull_up() -> None:
    assert closed(put(membrane(), Bridge("R5", "R6"), 12_000.0)) == both(("R5", "R6"))
    assert closed(put(membrane(), Bridge("R5", "R6"), 20_000.0)) == set()


def test_a_leak_gives_way_while_a_key_on_it_is_pressed() -> None:
    """Two pull-ups in parallel feed through the leak then: half the threshold."""
    made = put(membrane(DEMO, "G"), Bridge("R5", "R6"), 12_000.0)
    assert both(("R5", "C4")) <= closed(made)
    assert ("R6", "R5") not in closed(made)


@pytest.mark.parametrize(("ohm", "reads"), [(200.0, True), (10_000.0, True), (16_000.0, False)])
def test_a_worn_contact_reads_by_its_resistance(ohm: float, reads: bool) -> None:
    assert bool(closed(put(membrane(), Contact("G"), ohm))) == reads


def test_added_resistance_on_a_line_counts_for_every_key_beyond_it() -> None:
    for key, reads in (("A", True), ("K", False)):
        made = put(membrane(DEMO, key), Stretch("C4", "G"), 18_000.0)
        assert bool(closed(made)) == reads


def test_a_value_at_rest_is_forgotten() -> None:
    made = membrane(DEMO, "G")
    assert not made.apply(Change(1, Contact("G"), CONTACT_OHM))
    assert made.apply(Change(2, Contact("G"), OPEN))
    assert made.values == {}


def random_membrane(seed: int) -> Membrane:
    """Some contacts, bridges and bad stretches at once."""
    random = Random(seed)
    layout = random.choice([DEMO, find_layout("demo-8x8"), DIODES])
    made = membrane(layout)
    for key in random.sample(sorted(layout.key_by_id), random.randint(1, 5)):
        put(made, Contact(key), 10 ** random.uniform(0.5, 4.2))
    for _ in range(random.randint(0, 2)):
        one, other = random.sample(layout.lines, 2)
        put(made, Bridge(one, other), 10 ** random.uniform(1, 4.5))
    line = random.choice(layout.lines)
    put(made, Stretch(line, random.choice([None, *layout.keys_on[line]])), 10 ** random.uniform(1, 4.5))
    return made


def is_pin(node: Node) -> bool:
    return isinstance(node, tuple) and node[0] == "pin"


def test_levels_at_the_pins_agree_with_ngspice(tmp_path: Path) -> None:
    """Whole membranes, every board line driven in turn."""
    networks: list[Network] = []
    levels: list[dict[int, float]] = []
    for seed in range(12):
        made = random_membrane(seed)
        inputs = made.inputs
        for group in made.groups():
            for driven, volts in made.levels(group).items():
                network = made.network(group)
                for pin in volts:
                    low = pin == driven
                    volt, ohm = (inputs.driver_v, inputs.driver_ohm) if low else (inputs.supply_v, inputs.pullup_ohm)
                    network.source(("pin", pin), volt, ohm)
                networks.append(network)
                levels.append(volts)
    assert len(networks) >= 50
    for volts, truth in zip(levels, solve_with_ngspice(networks, tmp_path, is_pin), strict=True):
        assert {("pin", pin): level for pin, level in volts.items()} == pytest.approx(truth, rel=0.01, abs=1e-4)
