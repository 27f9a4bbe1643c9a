"""What a reading proves, against all sets of pressed keys that would give the same reading."""

from __future__ import annotations

from itertools import chain, combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from tailwise.model.layout import Diode, Key, KeyboardKind, Layout, Position
from tailwise.observe.reading import Reader, Status, component, duo_of
from tests.observe.layouts import grid

CATHODES = st.sampled_from(["row", "column"])
WAYS = st.sampled_from(["to_tail", "from_tail"])


def reading(layout: Layout, pressed: frozenset[str]) -> tuple[int, ...]:
    """The matrix of these pressed keys: who is reached from whom, worked out apart from the engine."""
    line_ways = {diode.line: diode.conducts for diode in layout.diodes if diode.line}
    cathodes = {diode.key: diode.conducts for diode in layout.diodes if diode.key}
    flows: set[tuple[str, str]] = set()
    for line in layout.lines:
        if line_ways.get(line) != "from_tail":
            flows.add((f"film {line}", line))
        if line_ways.get(line) != "to_tail":
            flows.add((line, f"film {line}"))
    for key in layout.keys:
        if key.id in pressed and key.row and key.column:
            if cathodes.get(key.id) != "column":
                flows.add((f"film {key.column}", f"film {key.row}"))
            if cathodes.get(key.id) != "row":
                flows.add((f"film {key.row}", f"film {key.column}"))
    rows = []
    for driven in layout.lines:
        reached, size = {driven}, 0
        while len(reached) != size:
            size = len(reached)
            reached |= {start for start, end in flows if end in reached}
        rows.append(sum(1 << at for at, line in enumerate(layout.lines) if line in reached and line != driven))
    return tuple(rows)


def statuses(layout: Layout, rows: tuple[int, ...]) -> dict[str, Status]:
    place = {line: at for at, line in enumerate(layout.lines)}
    found = Reader(layout).explain(rows, (1 << len(rows)) - 1, frozenset())
    return {
        key.id: found[duo]
        for key in layout.keys
        if key.row and key.column and (duo := duo_of(place[key.row], place[key.column])) in found
    }


def subsets(names: list[str]) -> list[frozenset[str]]:
    return [frozenset(each) for each in chain.from_iterable(combinations(names, size) for size in range(len(names) + 1))]


def all_readings(layout: Layout) -> list[tuple[frozenset[str], tuple[int, ...]]]:
    return [(each, reading(layout, each)) for each in subsets([key.id for key in layout.keys])]


def in_every_explanation(readings: list[tuple[frozenset[str], tuple[int, ...]]], rows: tuple[int, ...]) -> frozenset[str]:
    return frozenset.intersection(*(each for each, shown in readings if shown == rows))


PLAIN = grid(3, 3)
PLAIN_READINGS = all_readings(PLAIN)


@given(st.sets(st.sampled_from([key.id for key in PLAIN.keys])))
@settings(max_examples=60, deadline=None)
def test_certain_is_what_every_explanation_contains(pressed: set[str]) -> None:
    rows = reading(PLAIN, frozenset(pressed))
    found = statuses(PLAIN, rows)
    assert {key for key, status in found.items() if status is Status.CERTAIN} == in_every_explanation(PLAIN_READINGS, rows)
    assert pressed <= set(found)


@given(st.data())
@settings(max_examples=15, deadline=None)
def test_with_diodes_certain_is_never_claimed_too_often(data: st.DataObject) -> None:
    diodes = []
    for line in PLAIN.lines:
        if data.draw(st.booleans()):
            diodes.append(Diode(line, None, "to_tail" if line in PLAIN.rows else "from_tail"))
    for key in PLAIN.keys:
        if data.draw(st.booleans()):
            diodes.append(Diode(None, key.id, "row"))
    layout = grid(3, 3, tuple(diodes))
    pressed = data.draw(st.sets(st.sampled_from([key.id for key in layout.keys])))
    rows = reading(layout, frozenset(pressed))
    found = statuses(layout, rows)
    assert {key for key, status in found.items() if status is Status.CERTAIN} <= in_every_explanation(
        all_readings(layout), rows
    )


def test_three_corners_of_a_rectangle_make_all_four_unknown() -> None:
    """Rectangle rule: three pressed keys make the fourth corner read pressed (Semtech UR5HCSPI data sheet)."""
    rows = reading(PLAIN, frozenset({"A1", "A2", "B1"}))
    assert statuses(PLAIN, rows) == dict.fromkeys(("A1", "A2", "B1", "B2"), Status.UNKNOWN)


def test_a_diode_on_every_key_keeps_the_rectangle_open() -> None:
    layout = grid(3, 3, tuple(Diode(None, key.id, "row") for key in PLAIN.keys))
    rows = reading(layout, frozenset({"A1", "A2", "B1"}))
    assert statuses(layout, rows) == dict.fromkeys(("A1", "A2", "B1"), Status.CERTAIN)
    rows = reading(layout, frozenset({"A1", "A2", "B1", "B2"}))
    assert statuses(layout, rows) == dict.fromkeys(("A1", "A2", "B1", "B2"), Status.CERTAIN)


def test_diodes_on_whole_lines_do_not_stop_the_rectangle() -> None:
    layout = grid(3, 3, tuple(Diode(row, None, "to_tail") for row in PLAIN.rows))
    rows = reading(layout, frozenset({"A1", "A2", "B1"}))
    assert statuses(layout, rows) == dict.fromkeys(("A1", "A2", "B1", "B2"), Status.UNKNOWN)


def test_two_held_keys_of_a_line_explain_their_partners() -> None:
    rows = reading(PLAIN, frozenset({"A1", "A2"}))
    found = Reader(PLAIN).explain(rows, (1 << 6) - 1, frozenset())
    assert found == {(0, 3): Status.CERTAIN, (0, 4): Status.CERTAIN, (3, 4): Status.EXPLAINED}


def test_lines_no_key_joins_are_unexplained_and_make_keys_on_them_unknown() -> None:
    rows = [0] * 6
    rows[3], rows[4] = 1 << 4, 1 << 3
    found = Reader(PLAIN).explain(tuple(rows), (1 << 6) - 1, frozenset())
    assert found == {(3, 4): Status.UNEXPLAINED}
    rows[0], rows[3], rows[4] = 0b11000, 0b10001, 0b1001
    found = Reader(PLAIN).explain(tuple(rows), (1 << 6) - 1, frozenset({(3, 4)}))
    assert found[0, 3] is Status.UNKNOWN
    assert found[0, 4] is Status.UNKNOWN


def test_components_follow_readings_in_both_directions() -> None:
    rows, back = [0, 0b100, 0, 0], [0, 0, 0b10, 0]
    assert component(rows, back, 1) == 0b110
    assert component(rows, back, 2) == 0b110
    assert component(rows, back, 0) == 0b1


def test_every_line_of_a_large_matrix_joined_is_worked_out_at_once() -> None:
    layout = Layout(
        "big", "big", KeyboardKind.FILM, tuple(f"R{n}" for n in range(20)), tuple(f"C{n}" for n in range(20)),
        tuple(Key(f"{r}.{c}", "", f"R{r}", f"C{c}", Position(0, 0)) for r in range(20) for c in range(20)),
    )  # fmt: skip
    everything = (1 << 40) - 1
    rows = tuple(everything & ~(1 << line) for line in range(40))
    found = Reader(layout).explain(rows, everything, frozenset())
    assert len(found) == 40 * 39 // 2
    assert set(found.values()) == {Status.UNKNOWN, Status.EXPLAINED}
