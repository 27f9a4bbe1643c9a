"""A sitting: presses and commands in, a picture out, everything kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from tailwise.harness.store import kept_wiring
from tailwise.layoutfile.library import find_layout
from tailwise.learn.bare import bare_layout
from tailwise.learn.drawing import SHAPES, draw, rows_of
from tailwise.learn.keeping import NothingLearned, free_id, keep_layout, lesson_path, open_lessons, slug
from tailwise.learn.lesson import Lesson
from tailwise.learn.routes import TAIL_PLACES, RouteDraft
from tailwise.learn.sitting import Sitting
from tailwise.link.base import Link
from tailwise.live.run import Run, RunSettings
from tailwise.practice.bench import open_practice
from tests.observe.board import MS, SECOND, Board

LAYOUT = find_layout("demo-7x6")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path))


def hear(sitting: Sitting, *keys: str) -> None:
    board = Board(LAYOUT)
    for number, key in enumerate(keys):
        board.press(key, 2_500 * MS + number * 400 * MS)
    for record in board.records(3 * SECOND + len(keys) * 400 * MS):
        sitting.hear(record)


def taught(keep: Path | None = None) -> Sitting:
    sitting = Sitting(Lesson.begin(rows_of(LAYOUT), "attic find"), 24, keep)
    hear(sitting, *(key.id for key in draw(rows_of(LAYOUT))))
    return sitting


def test_presses_count_for_the_key_asked_for() -> None:
    sitting = Sitting(Lesson.begin(["1 2 3"]), 24, None)
    assert sitting.picture().resting
    hear(sitting, "1", "2")
    now = sitting.picture()
    assert (now.asking, now.found, now.total) == ("3", 2, 3)
    assert now.last == ("2", ("L0", "L8"))
    assert sitting.shown("1") == ("L0", "L7")


def test_any_key_can_be_asked_for_again() -> None:
    sitting = Sitting(Lesson.begin(["1 2 3"]), 24, None)
    hear(sitting, "1", "W")
    sitting.ask_for("2")
    now = sitting.picture()
    assert (now.asking, now.states["2"].value) == ("2", "asked")
    sitting.nothing_happened()
    assert sitting.picture().states["2"].value == "mute"
    sitting.skip()
    sitting.take_back()
    assert sitting.picture().asking == "2"


def test_a_sitting_goes_on_where_it_stopped() -> None:
    path = lesson_path("Attic find")
    sitting = Sitting(Lesson.begin(["1 2 3"], "Attic find"), 24, path)
    hear(sitting, "1")
    ((found, lesson),) = open_lessons()
    assert (found, lesson.title, lesson.asking) == (path, "Attic find", "2")
    assert lesson_path("Attic find") != path
    again = Sitting(lesson, 24, path)
    hear(again, "2", "3")
    assert again.picture().finished
    (path.parent / "other.lesson.json").write_text("{}", encoding="utf-8")
    assert len(open_lessons()) == 1


def test_marks_of_an_operator_name_the_keys() -> None:
    sitting = Sitting(Lesson.begin(rows_of(LAYOUT)), 24, None)

    def opener(url: str, *, realtime: bool = False) -> Link:
        return open_practice("reversed-tail")

    for _ in Run(RunSettings("bench:", bare_layout(24), heard=sitting.hear), opener).events():
        pass
    sitting.close()
    now = sitting.picture()
    assert now.named and now.asking is None
    assert now.found == len(LAYOUT.keys)


def test_what_was_learned_is_a_valid_layout_with_its_wiring() -> None:
    sitting = taught()
    kept = keep_layout(sitting.result(), free_id("Attic find!"), "Attic find!", "film", "one specimen", board_id=b"x")
    assert kept.layout.id == "attic-find"
    assert find_layout("attic-find").keys_at.keys() == kept.layout.keys_at.keys()
    found = kept_wiring(b"x", kept.layout)
    assert found is not None and found[0].board_line == sitting.result().board_line
    assert free_id("attic find") == "attic-find-2"
    assert free_id("demo 7x6") == "demo-7x6-2"
    assert slug("Ünïcode  &  more") == "unicode-more" and slug("???") == "keyboard"


def test_nothing_learned_is_nothing_saved() -> None:
    with pytest.raises(NothingLearned):
        keep_layout(Sitting(Lesson.begin(["1"]), 24, None).result(), "x", "x", "film", "one")


def test_routes_are_proposed_corrected_and_marked_as_assumed() -> None:
    result = taught().result()
    layout = keep_layout(result, "attic", "Attic", "film", "one").layout
    draft = RouteDraft(layout)
    line = layout.rows[0]
    before = list(draft.orders[line])
    assert draft.move(line, 0, 1) == 1
    assert draft.move(line, 0, -1) == 0
    assert draft.orders[line] == [before[1], before[0], *before[2:]]
    corrected = list(draft.orders[line])
    for _ in TAIL_PLACES:
        draft.next_place()
        assert draft.orders[line] == corrected
    again = keep_layout(result, "attic", "Attic", "film", "one", draft.routes()).layout
    assert again.routes is not None and again.routes_assumed
    assert [stop.key for stop in again.routes[line]] == corrected
    assert again.routes[line][0].origin is None


@pytest.mark.parametrize("rows", SHAPES.values())
def test_every_shape_can_be_drawn(rows: tuple[str, ...]) -> None:
    assert len(draw(rows)) >= 16


def test_a_known_layout_is_a_drawing_to_begin_with() -> None:
    drawn = draw(rows_of(LAYOUT))
    assert {key.id for key in drawn} == {key.id for key in LAYOUT.keys}
    assert {key.id: key.position.width for key in drawn} == {key.id: key.position.width for key in LAYOUT.keys}
