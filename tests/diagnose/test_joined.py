"""Lines that read joined: short, stuck contact, leak; what they hide is not accused."""

from __future__ import annotations

from dataclasses import replace

from tailwise.diagnose.engine import diagnose
from tailwise.model.fault import FaultKind
from tailwise.model.observation import Attempt, AttemptResult, Joined, LineHeld
from tests.diagnose.worlds import START_US, STEP_US, Script, brief, demo


def _walk_with_twins(script: Script, one: str, two: str) -> Script:
    """Every key pressed once on a keyboard with two joined lines: partners read closed too, nothing certain."""
    layout = script.world.layout
    for key in layout.keys:
        assert key.row is not None and key.column is not None
        if key.row in (one, two):
            other = two if key.row == one else one
            for twin in layout.keys_at.get(frozenset((other, key.column)), ()):
                script.read(twin, certain=False)
            script.read(key.id, certain=False)
        else:
            script.read(key.id)
        script.at_us += STEP_US
    return script


def test_a_short_alone_and_nothing_else_on_its_lines() -> None:
    script = _walk_with_twins(Script(demo()).join("R1", "R2"), "R1", "R2")
    assert brief(diagnose(script.observations(every_key_pressed=True))) == [("short", ("R1", "R2"), ())]


def test_a_short_and_a_dead_key_elsewhere() -> None:
    world = demo()
    script = _walk_with_twins(Script(world).join("R1", "R2"), "R1", "R2")
    script.presses = [press for press in script.presses if press.key != "G"]
    found = brief(diagnose(script.observations(every_key_pressed=True)))
    assert found == [("dead_contact", (), ("G",)), ("short", ("R1", "R2"), ())]


def test_row_and_column_joined_is_a_stuck_contact_where_a_key_stands() -> None:
    world = demo()
    observations = Script(world).join("R1", "C2").walk().observations()
    assert brief(diagnose(observations)) == [("stuck_contact", ("C2", "R1"), ("2",))]
    keys = tuple(key for key in world.layout.keys if key.id != "2")
    routes = {
        line: tuple(replace(stop, origin=None) for stop in stops if stop.key != "2")
        for line, stops in (world.layout.routes or {}).items()
    }
    bare = replace(world.layout, keys=keys, routes=routes)
    without = replace(observations, layout=bare, presses=(), attempts=())
    assert brief(diagnose(without)) == [("short", ("C2", "R1"), ())]


def test_two_stuck_keys_of_one_row_need_no_short_between_the_columns() -> None:
    script = Script(demo()).join("R1", "C1").join("R1", "C4").join("C1", "C4")
    found = diagnose(script.walk().observations())
    assert brief(found) == [("stuck_contact", ("C1", "R1"), ("1",)), ("stuck_contact", ("C4", "R1"), ("4",))]
    assert all(FaultKind.SHORT in {rival.fault.kind for rival in each.rivals} for each in found)


def test_a_join_that_lets_go_under_load_is_a_leak() -> None:
    script = _walk_with_twins(Script(demo()).join("R5", "R6"), "R5", "R6")
    script.closures[("R5", "R6")] = 12
    (finding,) = diagnose(script.observations(every_key_pressed=True))
    assert brief((finding,)) == [("leak", ("R5", "R6"), ())]
    assert finding.rivals[0].fault.kind is FaultKind.SHORT


def test_a_join_that_flickers_is_a_leak_and_one_flicker_is_nothing() -> None:
    def joined(count: int) -> tuple[Joined, ...]:
        between = [START_US + place * STEP_US + 200_000 for place in range(count)]
        return tuple(Joined(("C1", "C2"), start, start + 700, False) for start in between)

    sound = Script(demo()).walk().observations()
    assert diagnose(replace(sound, joined=joined(1))) == ()
    assert brief(diagnose(replace(sound, joined=joined(5)))) == [("leak", ("C1", "C2"), ())]


def test_a_short_that_diodes_hide_shows_in_pairs() -> None:
    world = demo("demo-10x8")
    script = _walk_with_twins(Script(world), "X1", "X2")
    script.presses = [replace(press, certain=True) for press in script.presses]
    (finding,) = diagnose(script.observations(every_key_pressed=True))
    assert brief((finding,)) == [("short", ("X1", "X2"), ())]
    assert any("pairs" in sentence for sentence in finding.evidence)


def test_foreign_voltage_and_nothing_else() -> None:
    world = demo()
    world.cut.add("C3")
    observations = Script(world).walk().observations()
    held = replace(observations, held={"C2": LineHeld.HIGH, "R1": LineHeld.LOW, "R2": LineHeld.CLEAR})
    (finding,) = diagnose(held)
    assert brief((finding,)) == [("foreign_voltage", ("C2", "R1"), ())]
    assert any("C2" in sentence and "high" in sentence for sentence in finding.evidence)


def test_a_join_under_held_keys_is_their_film_and_a_lasting_one_a_short() -> None:
    script = Script(demo()).walk()
    script.read("T", held_us=3_000_000).read("I", held_us=3_000_000)
    joined = Joined(("C2", "C5"), script.at_us, script.at_us + 2_000_000, False)
    assert diagnose(replace(script.observations(), joined=(joined,))) == ()
    later = replace(joined, start_us=script.at_us + 3_000_000, end_us=script.at_us + 5_000_000)
    (finding,) = diagnose(replace(script.observations(), joined=(later,)))
    assert brief((finding,)) == [("short", ("C2", "C5"), ())]


def test_film_of_an_open_line_under_a_key_that_was_never_down_alone() -> None:
    """All keys of C3 are silent; 3 was down only together with Y, so its rows read joined and itself never closed."""
    world = demo()
    world.cut.add("C3")
    script = Script(world)
    for key in world.layout.keys:
        if key.id == "3":
            for _ in range(3):
                script.joined.append(Joined(("R1", "R3"), script.at_us, script.at_us + 40_000, False))
                script.attempts.append(
                    Attempt("3", script.at_us, script.at_us + STEP_US, AttemptResult.ELSEWHERE, (("R1", "R3"),))
                )
                script.at_us += STEP_US
        else:
            for _ in range(1 if world.closes(key.id) else 3):
                script.press(key.id)
    (finding,) = diagnose(script.observations())
    assert finding.fault.kind is FaultKind.OPEN_LINE
    assert finding.fault.lines == ("C3",)


def test_what_a_join_that_comes_and_goes_explains_is_no_fault_of_its_own() -> None:
    """R1 and R2 read joined for a while; a key down when it lets go is lost on both."""
    script = Script(demo()).walk()
    begin = script.at_us
    script.joined.append(Joined(("R1", "R2"), begin, begin + 4_000_000, False))
    script.at_us += 5_000_000
    script.drop(("1", "RETURN"), open_us=600_000, bridged=True)
    (finding,) = diagnose(script.observations())
    assert finding.fault.kind in (FaultKind.SHORT, FaultKind.LEAK)
    assert finding.fault.lines == ("R1", "R2")
