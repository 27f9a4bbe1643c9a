"""`tailwise layouts learn`: by named marks on the practice bench, and by asking key after key."""

from __future__ import annotations

from pathlib import Path

import pytest

from tailwise.cli.learning import Conversation
from tailwise.cli.main import main
from tailwise.harness.store import kept_wirings
from tailwise.layoutfile.library import find_layout
from tailwise.layoutfile.reader import read_layout
from tailwise.learn.lesson import Lesson
from tailwise.link.base import Link
from tailwise.live.run import Run, RunSettings
from tailwise.practice.bench import open_practice
from tests.observe.board import SECOND, Board

DRAWING = """# drawn by hand
1 2 3 4 5 6 7 8 9 0 DEL:1.5
_:0.5 Q W E R T Y U I O P RETURN:2
CTRL:1.25 A S D F G H J K L DOT
SHIFT:1.75 Z X C V B N M SPACE:3
"""


@pytest.fixture
def drawing(tmp_path: Path) -> str:
    path = tmp_path / "drawing.txt"
    path.write_text(DRAWING)
    return str(path)


def test_named_presses_become_a_layout_with_its_wiring(
    drawing: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "new.yaml"
    call = ["layouts", "learn", "--port", "practice:reversed-tail", "--draw", drawing, "-o", str(out)]
    assert main(call) == 0
    assert "42 of 42 keys found" in capsys.readouterr().out
    assert main(["layouts", "check", str(out)]) == 0
    shipped = find_layout("demo-7x6")
    turned = {f"R{place}": f"R{8 - place}" for place in range(1, 8)}
    found = {key.id: (key.row, key.column) for key in read_layout(out).keys}
    assert found == {key.id: (turned[key.row or ""], key.column) for key in shipped.keys}
    assert (tmp_path / "new.wiring.yaml").read_text().splitlines()[0] == "R1: 0"
    assert main(call) == 2


def test_without_a_drawing_it_says_how_to_give_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["layouts", "learn", "--port", "practice:sound", "-o", str(tmp_path / "x.yaml")]) == 2
    assert "--draw FILE" in capsys.readouterr().err
    call = ["layouts", "learn", "--port", "practice:sound", "--shape", "round", "-o", str(tmp_path / "x.yaml")]
    assert main(call) == 2
    assert "expected one of" in capsys.readouterr().err


def test_key_after_key_with_a_mistake_taken_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    layout = find_layout("demo-7x6")
    board = Board(layout)
    for number, key in enumerate(("1", "W", "2", "3")):
        board.press(key, 2_500_000 + number * 400_000)
    talk = Conversation(Lesson.begin(["1 2 3"]), 24, tmp_path / "lesson.json")
    records = board.records(6 * SECOND)
    for record in records:
        if len(talk.presses) == 2 and not talk.typed and talk.lesson.history == ["1", "2"]:
            talk.typed.append("u")
        talk.hear(record)
    joints = talk.lesson.learner.joints()
    assert {key: joint.lines for key, (joint,) in joints.items()} == {"1": (0, 7), "2": (0, 8), "3": (0, 9)}
    assert talk.finished
    said = capsys.readouterr().err
    assert "press  1" in said and "2 is forgotten" in said and "Everything drawn" in said
    assert Lesson.load(tmp_path / "lesson.json").learner.found() == talk.lesson.learner.found()


def test_a_silent_key_is_answered_and_skipped_and_the_lesson_stops(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    layout = find_layout("demo-7x6")
    talk = Conversation(Lesson.begin(["1 2 3"]), 24, None)
    talk.typed.extend(["n", "s", "q"])
    for record in Board(layout).records(3 * SECOND):
        talk.hear(record)
    assert talk.finished and "kept" in capsys.readouterr().err
    assert [(sighting.key, sighting.pairs) for sighting in talk.lesson.learner.sightings] == [("1", frozenset())]
    assert talk.lesson.learner.skipped == {"2"}


def test_without_a_file_it_becomes_one_of_ones_own_layouts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path))
    call = ["layouts", "learn", "--port", "practice:reversed-tail", "--shape", "demo-7x6", "--title", "Attic find"]
    assert main(call) == 0
    assert "attic-find.yaml" in capsys.readouterr().out
    assert len(find_layout("attic-find").keys) == 42
    assert main(call) == 0
    assert find_layout("attic-find-2").id == "attic-find-2"
    assert kept_wirings() == []


def test_on_a_board_of_ones_own_the_wiring_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def bench(settings: RunSettings) -> Run:
        def opener(url: str, *, realtime: bool = False) -> Link:
            return open_practice("reversed-tail")

        return Run(settings, opener)

    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path))
    monkeypatch.setattr("tailwise.cli.learning.Run", bench)
    assert main(["layouts", "learn", "--port", "bench:", "--shape", "demo-7x6", "--title", "Attic find"]) == 0
    assert [kept.layout for kept in kept_wirings()] == ["attic-find"]
