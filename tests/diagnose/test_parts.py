"""Diodes, bounce, the priors file, and millimetres."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailwise.diagnose.components import Components
from tailwise.diagnose.engine import diagnose
from tailwise.diagnose.place import distance_mm, reach_mm
from tailwise.diagnose.priors import DEFAULT_PRIORS
from tailwise.diagnose.priors_file import parse_priors
from tailwise.layoutfile.library import find_layout
from tailwise.layoutfile.nodes import FileProblems
from tailwise.model.fault import FaultKind, Place
from tailwise.model.layout import Diode, Layout
from tailwise.model.observation import Dropout
from tests.diagnose.worlds import Script, World, brief, demo


def test_a_diode_that_conducts_both_ways() -> None:
    script = Script(demo("demo-10x8")).walk()
    for key in ("ESC", "1", "2"):
        column = script.world.layout.key_by_id[key].column
        assert column is not None
        script.closures[(column, "X0")] = 1
    (finding,) = diagnose(script.observations())
    assert finding.fault.kind is FaultKind.DIODE_FAULT
    assert finding.fault.lines == ("X0",)
    assert finding.fault.keys == ("1", "2", "3", "4", "5", "6", "7", "ESC")


def test_a_diode_the_wrong_way_round() -> None:
    script = Script(demo("demo-10x8")).walk()
    turned = {(two, one) if one == "X3" else (one, two): count for (one, two), count in script.closures.items()}
    found = diagnose(replace(script.observations(), closures=turned))
    assert [(each.fault.kind, each.fault.lines) for each in found] == [(FaultKind.DIODE_FAULT, ("X3",))]


def test_all_diodes_the_wrong_way_round_is_the_layout() -> None:
    script = Script(demo("demo-10x8")).walk()
    turned = {(two, one): count for (one, two), count in script.closures.items()}
    found = diagnose(replace(script.observations(), closures=turned))
    assert [each.fault.kind for each in found] == [FaultKind.WRONG_LAYOUT]


def test_an_open_diode_is_a_rival_of_the_open_line() -> None:
    world = demo("demo-10x8")
    world.cut.add("X4")
    (finding,) = diagnose(Script(world).walk().observations())
    assert finding.fault.kind is FaultKind.OPEN_LINE
    assert FaultKind.DIODE_FAULT in {rival.fault.kind for rival in finding.rivals}


def test_a_shorted_diode_of_one_key() -> None:
    world = demo()
    layout = replace(world.layout, diodes=(Diode(None, "G", "row"),))
    script = Script(world).walk()
    script.closures[("C4", "R5")] = 3
    (finding,) = diagnose(replace(script.observations(), layout=layout))
    assert brief((finding,)) == [("diode_fault", ("R5",), ("G",))]


def test_one_whole_press_shows_the_diode_of_a_key() -> None:
    """Read in one direction of drive only: against the diode it is the wrong way round, both ways it is shorted."""
    layout = replace(demo().layout, diodes=(Diode(None, "G", "row"),))
    for one_way, closures in ((("C4", "R5"), {("C4", "R5"): 1}), (None, {("C4", "R5"): 1, ("R5", "C4"): 1})):
        script = Script(World(layout))
        for key in layout.keys:
            script.press(key.id)
        script.presses = [replace(each, one_way=one_way) if each.key == "G" else each for each in script.presses]
        script.closures = {pair: count for pair, count in script.closures.items() if set(pair) != {"R5", "C4"}} | closures
        (finding,) = diagnose(script.observations())
        assert (finding.fault.kind, finding.fault.keys) == (FaultKind.DIODE_FAULT, ("G",))


@pytest.mark.parametrize(("bounces", "accused"), [((25_000, 31_000, 28_000), 1), ((4_000, 19_000, 12_000), 0), ((21_000,), 0)])
def test_bounce_over_the_limit(bounces: tuple[int, ...], accused: int) -> None:
    script = Script(demo()).walk()
    for bounce in bounces:
        script.read("J")
        script.presses[-1] = replace(script.presses[-1], make_bounce_us=bounce)
        script.at_us += 400_000
    script.presses = [press for press in script.presses if press.key != "J" or press.make_bounce_us]
    found = brief(diagnose(script.observations()))
    assert found == [("bouncing_contact", (), ("J",))] * accused


def test_a_doubled_press_of_a_worn_contact_hides_nothing() -> None:
    """The end of one press chatters into the start of the next, and no opening is long enough to be a finger's."""
    script = Script(demo()).walk()
    script.presses = [press for press in script.presses if press.key != "J"]
    for _ in range(4):
        script.read("J", held_us=140_000)
        script.presses[-1] = replace(script.presses[-1], make_bounce_us=36_000, break_bounce_us=34_000)
        script.at_us += 400_000
    script.read("J", held_us=310_000)
    script.presses[-1] = replace(script.presses[-1], make_bounce_us=36_000, break_bounce_us=34_000)
    begin = script.at_us + 110_000
    script.dropouts += [Dropout(begin + at, begin + at + 1_200, ("J",), ()) for at in range(0, 72_000, 2_000)]
    found = diagnose(script.observations())
    assert brief(found) == [("bouncing_contact", (), ("J",))]
    assert found[0].probability > 0.9


def test_priors_file_overrides_by_name() -> None:
    priors = parse_priors("format: tailwise-priors/1\nopen_line: 0.2\n", "shop.yaml")
    assert priors == replace(DEFAULT_PRIORS, open_line=0.2)


@pytest.mark.parametrize(
    ("text", "line", "word"),
    [
        ("format: tailwise-priors/1\nopen_lines: 0.2\n", 2, "open_line"),
        ("format: tailwise-priors/1\n\ndead_contact: 2\n", 3, "outside"),
        ("format: other\n", 1, "tailwise-priors/1"),
        ("open_line: 0.1\n", 1, "missing"),
    ],
)
def test_bad_priors_name_file_line_and_key(text: str, line: int, word: str) -> None:
    with pytest.raises(FileProblems) as caught:
        parse_priors(text, "shop.yaml")
    problem = caught.value.problems[0]
    assert (problem.file, problem.line) == ("shop.yaml", line)
    assert word in str(problem)


def test_priors_change_who_is_accused_first() -> None:
    world = demo()
    world.dead.add("A")
    observations = Script(world).walk().observations()
    shop = replace(DEFAULT_PRIORS, dead_contact=0.0001, broken_stretch=0.01)
    assert diagnose(observations)[0].fault.kind is FaultKind.DEAD_CONTACT
    assert diagnose(observations, shop)[0].fault.kind is FaultKind.BROKEN_TRACE


def test_distances_add_up_along_the_route() -> None:
    layout = demo().layout
    assert reach_mm(layout, "R4", "W") == 226 + 22 + 22
    assert reach_mm(layout, "C2", "B") == 83 + 65
    assert reach_mm(layout, "R4", "nowhere") is None
    assert distance_mm(layout, Place("C2", "T", "B")) == (83.0, 115.5, 148.0)
    assert distance_mm(layout, Place("C2", "T", None)) is None


def test_components_of_a_tree() -> None:
    parts = Components(demo().layout)
    assert parts.path("C2", "L") == ("T", "B", "L")
    beyond = {stretch.key: parts.ids(stretch.beyond) for stretch in parts.stretches["C2"]}
    assert beyond["B"] == ("B", "DEL", "L")
    assert beyond["E"] == ("2", "D", "E")
    assert frozenset(("R1", "R2")) in parts.neighbours
    assert frozenset(("R1", "R3")) not in parts.neighbours


def test_a_pin_that_senses_but_never_drives_is_the_harness() -> None:
    script = Script(demo()).walk()
    script.presses = [
        replace(press, one_way=("R4", script.world.layout.key_by_id[press.key].column or ""))
        if script.world.layout.key_by_id[press.key].row == "R4"
        else press
        for press in script.presses
    ]
    (finding,) = diagnose(script.observations())
    assert brief((finding,)) == [("harness_fault", ("R4",), ())]
    assert FaultKind.DIODE_FAULT in {rival.fault.kind for rival in finding.rivals}


def test_boards_that_scan_one_way_only_accuse_no_pin() -> None:
    script = Script(demo()).walk()
    points = script.world.layout.key_by_id
    script.presses = [
        replace(press, one_way=(points[press.key].row or "", points[press.key].column or "")) for press in script.presses
    ]
    assert diagnose(script.observations()) == ()


def test_a_dead_key_that_shares_its_crosspoint_is_found_by_its_marks() -> None:
    world = demo()
    twin = replace(world.layout.key_by_id["G"], id="G2", shared=True)
    world.layout = replace(world.layout, keys=(*world.layout.keys, twin))
    world.dead.add("G2")
    script = Script(world).walk()
    on_g = [press for press in script.presses if press.key == "G"]
    script.presses += [replace(press, key="G2") for press in on_g]
    assert brief(diagnose(script.observations())) == [("dead_contact", (), ("G2",))]


def test_a_locking_key_that_is_down_is_no_stuck_contact() -> None:
    world = demo()
    keys = tuple(replace(key, locking=key.id == "CTRL") for key in world.layout.keys)
    world.layout = replace(world.layout, keys=keys)
    assert diagnose(Script(world).join("R4", "C6").walk().observations()) == ()


def _twins(layout: Layout, press: Callable[[Script], None]) -> Script:
    """Both shift keys of a layout on one crosspoint are read whenever one of them is."""
    script = Script(World(layout))
    for key in layout.keys:
        if key.id not in ("LSHIFT", "RSHIFT") and key.crosspoints:
            script.press(key.id, named=False)
    press(script)
    return script


def test_keys_on_one_crosspoint_are_no_witnesses_of_each_other() -> None:
    layout = find_layout("ti-99-4a")
    assert layout.key_by_id["LSHIFT"].crosspoints == layout.key_by_id["RSHIFT"].crosspoints

    def bounces(script: Script) -> None:
        for _ in range(4):
            for key in ("LSHIFT", "RSHIFT"):
                script.read(key)
                script.presses[-1] = replace(script.presses[-1], make_bounce_us=45_000)
            script.at_us += 400_000

    def opens(script: Script) -> None:
        for _ in range(5):
            script.drop(("LSHIFT", "RSHIFT"), ("W",))

    (worn,) = diagnose(_twins(layout, bounces).observations())
    assert worn.fault.kind is FaultKind.BOUNCING_CONTACT
    assert worn.rivals[0].fault == replace(worn.fault, keys=("RSHIFT",))
    (loose,) = diagnose(_twins(layout, opens).observations())
    kinds = {(rival.fault.kind, rival.fault.keys): rival.probability for rival in loose.rivals}
    kinds[(loose.fault.kind, loose.fault.keys)] = loose.probability
    contact = FaultKind.INTERMITTENT_CONTACT
    assert kinds[(contact, ("LSHIFT",))] == kinds[(contact, ("RSHIFT",))] > 0.1
    assert not any("same instant" in sentence for sentence in loose.evidence)
