"""Silent keys: which fault, where, and what else it could be."""

from __future__ import annotations

from dataclasses import replace

from tailwise.diagnose.engine import diagnose
from tailwise.model.fault import FaultKind, Place, Steadiness
from tailwise.model.observation import Blind
from tests.diagnose.worlds import Script, brief, demo


def test_sound_keyboards_have_no_finding() -> None:
    for name in ("demo-7x6", "demo-8x8", "demo-10x8"):
        assert diagnose(Script(demo(name)).walk().observations()) == ()
        assert diagnose(Script(demo(name)).walk(named=False).observations(every_key_pressed=True)) == ()


def test_open_column_names_its_rivals() -> None:
    world = demo()
    world.cut.add("C3")
    (finding,) = diagnose(Script(world).walk().observations())
    assert finding.fault.kind is FaultKind.OPEN_LINE
    assert finding.fault.lines == ("C3",)
    assert finding.fault.keys == ("0", "3", "F", "SHIFT", "SPACE", "W", "Y")
    assert finding.fault.place == Place("C3", None, "Y")
    assert finding.fault.steadiness is Steadiness.STEADY
    assert FaultKind.HARNESS_FAULT in [rival.fault.kind for rival in finding.rivals]
    assert finding.probability + sum(rival.probability for rival in finding.rivals) <= 1.0
    assert any("C3" in sentence for sentence in finding.evidence)
    assert finding.next_step


def test_open_line_from_the_statement_that_every_key_was_pressed() -> None:
    world = demo()
    world.cut.add("R5")
    observations = Script(world).walk(named=False).observations(every_key_pressed=True)
    assert [each.fault.lines for each in diagnose(observations)] == [("R5",)]


def test_without_statement_or_marks_unpressed_keys_are_no_fault() -> None:
    world = demo()
    world.cut.add("R5")
    assert diagnose(Script(world).walk(named=False).observations()) == ()


def test_a_blind_stretch_that_could_hide_the_press_accuses_nobody() -> None:
    world = demo()
    world.dead.add("G")
    observations = Script(world).walk(named=False).observations(every_key_pressed=True)
    assert [each.fault.keys for each in diagnose(observations)] == [("G",)]
    hidden = replace(observations, blind=(Blind(5_000_000, 5_050_000, "lost frames"),))
    assert diagnose(hidden) == ()
    short = replace(observations, blind=(Blind(5_000_000, 5_049_000, "lost frames"),))
    assert len(diagnose(short)) == 1
    resting = replace(observations, blind=(Blind(1_000_000, 1_900_000, "lost frames"),))
    assert len(diagnose(resting)) == 1


def test_edge_lines_of_a_tail_are_one_crack() -> None:
    world = demo()
    world.cut |= {"R1", "R2"}
    (finding,) = diagnose(Script(world).walk().observations())
    assert finding.fault.kind is FaultKind.CRACKED_TAIL
    assert finding.fault.lines == ("R1", "R2")
    assert finding.fault.place is None
    assert len(finding.fault.keys) == 12


def test_adjacent_lines_away_from_the_edge_are_two_open_lines() -> None:
    world = demo()
    world.cut |= {"R2", "R3"}
    found = diagnose(Script(world).walk().observations())
    assert [(each.fault.kind, each.fault.lines) for each in found] == [
        (FaultKind.OPEN_LINE, ("R2",)),
        (FaultKind.OPEN_LINE, ("R3",)),
    ]


def test_open_row_and_open_column_that_share_a_key() -> None:
    world = demo()
    world.cut |= {"R2", "C3"}
    found = diagnose(Script(world).walk().observations())
    assert [each.fault.lines for each in found] == [("C3",), ("R2",)]


def test_broken_trace_with_its_place_and_distance() -> None:
    world = demo()
    world.broken.add(("R4", "W"))
    (finding,) = diagnose(Script(world).walk().observations())
    assert brief((finding,)) == [("broken_trace", ("R4",), ("A", "CTRL", "Q", "W"))]
    assert finding.fault.place == Place("R4", "E", "W")
    assert finding.distance_mm == (248.0, 259.0, 270.0)
    assert any("E" in sentence and "frame" in sentence for sentence in finding.evidence)


def test_broken_branch_of_a_tree() -> None:
    world = demo()
    world.broken.add(("C2", "B"))
    (finding,) = diagnose(Script(world).walk().observations())
    assert finding.fault.place == Place("C2", "T", "B")
    assert finding.fault.keys == ("B", "DEL", "L")


def test_a_key_not_tried_widens_the_place() -> None:
    world = demo()
    world.broken.add(("R4", "W"))
    script = Script(world)
    for key in world.layout.keys:
        if key.id != "W":
            for _ in range(1 if world.closes(key.id) else 3):
                script.press(key.id)
    (finding,) = diagnose(script.observations())
    assert finding.fault.place == Place("R4", "E", "Q")
    assert "W" not in finding.fault.keys


def test_dead_key_inside_a_route_has_no_rival_break() -> None:
    world = demo()
    world.dead.add("W")
    (finding,) = diagnose(Script(world).walk().observations())
    assert brief((finding,)) == [("dead_contact", (), ("W",))]
    assert finding.probability > 0.9


def test_dead_key_at_the_end_of_a_route_names_both() -> None:
    world = demo()
    world.dead.add("A")
    (finding,) = diagnose(Script(world).walk().observations())
    named = {finding.fault.kind} | {rival.fault.kind for rival in finding.rivals}
    assert named >= {FaultKind.DEAD_CONTACT, FaultKind.BROKEN_TRACE}
    assert Place("R4", "CTRL", "A") in [rival.fault.place for rival in finding.rivals]


def test_silent_twice_is_not_yet_accused() -> None:
    for asked, accused in ((1, 0), (2, 0), (3, 1)):
        world = demo()
        world.dead.add("W")
        assert len(diagnose(Script(world).walk(retries=asked).observations())) == accused


def test_many_dead_contacts_are_each_found() -> None:
    world = demo()
    world.dead |= {"W", "Q", "1", "SPACE", "7", "H", "B", "9", "T", "E"}
    found = diagnose(Script(world).walk().observations())
    assert {each.fault.keys for each in found} == {(key,) for key in world.dead}


def test_without_routes_no_place_is_claimed() -> None:
    world = demo()
    world.broken.add(("R4", "W"))
    observations = Script(world).walk().observations()
    found = diagnose(replace(observations, layout=replace(observations.layout, routes=None)))
    assert all(each.fault.place is None for each in found)
    assert [each.fault.kind for each in found] == [FaultKind.BROKEN_TRACE]
    assert {key for each in found for key in each.fault.keys} == {"A", "CTRL", "Q", "W"}
    assert any("route unknown" in sentence for each in found for sentence in each.evidence)


def test_nothing_closed_accuses_no_line() -> None:
    world = demo()
    world.cut |= set(world.layout.columns)
    assert diagnose(Script(world).walk().observations(every_key_pressed=True)) == ()
