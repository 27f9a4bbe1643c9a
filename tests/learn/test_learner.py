"""Learning from presses: matrices, sides, slips, silent and doubled keys, diodes, drawings, merging."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from networkx import Graph, bipartite

from tailwise.layoutfile.library import find_layout
from tailwise.layoutfile.reader import parse_layout
from tailwise.learn.drawing import SHAPES, DrawingError, draw
from tailwise.learn.learner import Learner
from tailwise.learn.lesson import Lesson, LessonError
from tailwise.learn.merge import MergeError, merge
from tailwise.learn.result import Learned, layout_text, learned
from tailwise.learn.routes import propose_routes
from tailwise.learn.sides import find_sides, two_sides
from tailwise.learn.sighting import BoardPair

Pairs = frozenset[BoardPair]


def both(a: int, b: int) -> Pairs:
    return frozenset({(a, b), (b, a)})


def taught(rows: list[str], sightings: dict[str, Pairs]) -> Learned:
    lesson = Lesson.begin(rows)
    for key, pairs in sightings.items():
        lesson.learner.saw(key, pairs)
    return learned(lesson.drawn, lesson.learner)


def test_a_two_by_two_is_learned_whole() -> None:
    result = taught(["A B", "C D"], {"A": both(0, 5), "B": both(0, 7), "C": both(2, 5), "D": both(2, 7)})
    assert result.rows == ("R1", "R2") and result.columns == ("C1", "C2")
    assert result.board_line == {"R1": 0, "R2": 2, "C1": 5, "C2": 7}
    assert [(key.id, key.row, key.column) for key in result.keys] == [
        ("A", "R1", "C1"),
        ("B", "R1", "C2"),
        ("C", "R2", "C1"),
        ("D", "R2", "C2"),
    ]


def test_a_slip_is_asked_again_and_corrected() -> None:
    learner = Learner(("A", "B"))
    learner.saw("A", both(0, 6))
    learner.saw("B", both(0, 6))
    assert learner.doubtful() == {"A", "B"}
    assert learner.next_key() == "A"
    learner.saw("A", both(0, 5))
    learner.saw("B", both(0, 6))
    assert learner.next_key() is None
    assert learner.found() == {"A": frozenset({frozenset({0, 5})}), "B": frozenset({frozenset({0, 6})})}


def test_two_keys_on_one_contact_stay_doubled_once_both_showed_it_twice() -> None:
    lesson = Lesson.begin(["SHIFT A SHIFT"])
    for _ in range(2):
        lesson.learner.saw("SHIFT", both(0, 5))
        lesson.learner.saw("SHIFT2", both(0, 5))
    lesson.learner.saw("A", both(1, 5))
    assert lesson.asking is None
    result = learned(lesson.drawn, lesson.learner)
    assert [key.shared for key in result.keys] == [True, False, True]


def test_a_silent_key_is_asked_three_times_and_stays_not_found() -> None:
    learner = Learner(("A",))
    for _ in range(3):
        assert learner.next_key() == "A"
        learner.saw("A", ())
    assert learner.next_key() is None
    assert learner.not_found == ("A",)


def test_a_mistake_is_taken_back() -> None:
    lesson = Lesson.begin(["A B"])
    lesson.nothing_happened()
    assert lesson.asking == "B"
    lesson.nothing_happened()
    assert lesson.take_back() == "B"
    assert lesson.asking == "B"


def test_diodes_on_keys_and_on_lines_and_their_direction() -> None:
    keys = taught(
        ["A B", "C D"], {"A": frozenset({(0, 5)}), "B": frozenset({(0, 7)}), "C": frozenset({(2, 5)}), "D": frozenset({(2, 7)})}
    )
    assert {(diode.key, diode.conducts) for diode in keys.diodes} == {(key, "row") for key in "ABCD"}
    assert any("one way" in point for point in keys.open_points)
    line = taught(["A B", "C D"], {"A": frozenset({(0, 5)}), "B": frozenset({(0, 7)}), "C": both(2, 5), "D": both(2, 7)})
    assert [(diode.line, diode.conducts) for diode in line.diodes] == [("R1", "to_tail")]


def test_a_key_wired_to_a_common_line_makes_that_line_a_single() -> None:
    sides = find_sides([(0, 5), (0, 6), (1, 5), (1, 6), (0, 9), (5, 9)])
    assert sides.singles == (9,)
    assert sides.rows == (0, 1) and sides.columns == (5, 6)


@given(st.sets(st.tuples(st.integers(0, 7), st.integers(8, 15)), min_size=1), st.permutations(range(16)))
def test_sides_as_networkx(edges: set[tuple[int, int]], names: list[int]) -> None:
    renamed = [(names[a], names[b]) for a, b in edges]
    parts = two_sides(renamed)
    assert parts is not None
    graph = Graph(renamed)
    assert bipartite.is_bipartite(graph)
    for part in parts:
        tops, bottoms = bipartite.sets(graph.subgraph(part[0] | part[1]))
        assert {frozenset(part[0]), frozenset(part[1])} == {frozenset(tops), frozenset(bottoms)}


@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)).filter(lambda edge: edge[0] != edge[1]), min_size=1))
def test_an_odd_cycle_is_refused_exactly_where_networkx_sees_one(edges: list[tuple[int, int]]) -> None:
    assert (two_sides(edges) is None) == (not bipartite.is_bipartite(Graph(edges)))
    sides = find_sides(edges)
    assert not set(sides.rows) & set(sides.columns)
    assert set(sides.rows) | set(sides.columns) | set(sides.singles) <= {line for edge in edges for line in edge}


def test_a_learned_demo_keyboard_has_the_shipped_matrix() -> None:
    shipped = find_layout("demo-7x6")
    number = {line: place for place, line in enumerate(shipped.harness_order)}
    rows: dict[float, list[str]] = {}
    for key in sorted(shipped.keys, key=lambda key: (key.position.y, key.position.x)):
        rows.setdefault(key.position.y, []).append(key.id)
    sightings = {key.id: both(number[key.row or ""], number[key.column or ""]) for key in shipped.keys}
    result = taught([" ".join(row) for row in rows.values()], sightings)
    text = layout_text(result, "learned", "A learned keyboard", "film", "specimen 1")
    again = parse_layout(text, "learned.yaml")
    assert {key.id: (key.row, key.column) for key in again.keys} == {key.id: (key.row, key.column) for key in shipped.keys}
    assert again.routes is None and again.target is None and again.tails is None
    assert any("cannot be learned" in point for point in result.open_points)


def test_two_damaged_specimens_make_one_whole() -> None:
    rng = random.Random(5)
    shipped = find_layout("demo-7x6")
    drawing = [" ".join(key.id for key in shipped.keys)]
    halves = []
    for missing in ({"A", "Q", "5"}, {"Z", "M"}):
        lines = rng.sample(range(24), 13)
        number = dict(zip(shipped.lines, lines, strict=True))
        sightings = {
            key.id: frozenset() if key.id in missing else both(number[key.row or ""], number[key.column or ""])
            for key in shipped.keys
        }
        halves.append(parse_layout(layout_text(taught(drawing, sightings), "half", "Half", "film", "one"), "half.yaml"))
    merged = merge(*halves)
    assert merged.filled == ("5", "Q", "A") and merged.disagreeing == () and merged.added_lines == ()
    together: dict[frozenset[str], set[str]] = {}
    for key in merged.keys:
        for other in shipped.keys:
            same_row = shipped.key_by_id[key.id].row == other.row
            mine, its = key, next(each for each in merged.keys if each.id == other.id)
            assert key.row is not None
            together.setdefault(frozenset({str(same_row)}), set())
            on_one_line = bool({mine.row, mine.column} & {its.row, its.column})
            expected = same_row or shipped.key_by_id[key.id].column == other.column
            assert on_one_line == expected, (key.id, other.id)


def test_merging_strangers_is_refused() -> None:
    one = parse_layout(layout_text(taught(["A B"], {"A": both(0, 5)}), "x", "X", "film", "one"), "x.yaml")
    two = parse_layout(layout_text(taught(["A C"], {"A": both(0, 5)}), "x", "X", "film", "one"), "x.yaml")
    with pytest.raises(MergeError, match="differ in the keys B, C"):
        merge(one, two)
    three = parse_layout(layout_text(taught(["A B"], {"B": both(0, 5)}), "x", "X", "film", "one"), "x.yaml")
    with pytest.raises(MergeError, match="no key was found in both"):
        merge(one, three)


def test_a_drawing_by_rows() -> None:
    keys = draw(["ESC _:0.5 A:1.5 A", "SPACE:6.25"])
    assert [(key.id, key.position.x, key.position.y, key.position.width) for key in keys] == [
        ("ESC", 0, 0, 1),
        ("A", 1.5, 0, 1.5),
        ("A2", 3, 0, 1),
        ("SPACE", 0, 1, 6.25),
    ]
    for shape in SHAPES.values():
        assert len({key.id for key in draw(shape)}) == len(draw(shape))
    with pytest.raises(DrawingError, match="row 2, B:99"):
        draw(["A", "B:99"])
    with pytest.raises(DrawingError, match="at least one"):
        draw(["", "_:2"])


def test_a_lesson_goes_on_later(tmp_path: Path) -> None:
    lesson = Lesson.begin(["A B C"])
    lesson.learner.saw("A", both(0, 5))
    lesson.learner.skip("C")
    lesson.save(tmp_path / "lesson.json")
    again = Lesson.load(tmp_path / "lesson.json")
    assert again.asking == "B"
    assert again.learner.found() == lesson.learner.found()
    (tmp_path / "bad.json").write_text('{"format": "tailwise-lesson/1", "rows": ["A"]}')
    with pytest.raises(LessonError, match=r"bad\.json: not a whole lesson"):
        Lesson.load(tmp_path / "bad.json")
    (tmp_path / "other.json").write_text("[]")
    with pytest.raises(LessonError, match="expected tailwise-lesson/1"):
        Lesson.load(tmp_path / "other.json")


def test_proposed_routes_visit_every_key_of_every_line() -> None:
    layout = find_layout("demo-8x8")
    routes = propose_routes(layout, (10.0, -1.0))
    assert {line: sorted(stop.key for stop in stops) for line, stops in routes.items()} == {
        line: sorted(layout.keys_on[line]) for line in layout.lines
    }
