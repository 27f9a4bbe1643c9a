"""Presses without a layout, from the bytes of the practice bench."""

from __future__ import annotations

from tailwise.layoutfile.library import find_layout
from tailwise.learn.bare import bare_layout
from tailwise.learn.lesson import Lesson
from tailwise.learn.result import learned
from tailwise.learn.watch import PressWatch, SeenPress
from tailwise.live.events import Finished
from tailwise.live.run import Run, RunSettings
from tailwise.model.mark import Mark
from tailwise.recording.format import Marked
from tailwise.recording.reader import read_recording


def watched(scenario: str, tmp_path_name: str) -> tuple[list[SeenPress], list[Mark], PressWatch]:
    from pathlib import Path

    path = Path(tmp_path_name) / "run.twrec"
    run = Run(RunSettings(url=f"practice:{scenario}", layout=bare_layout(24), record=path))
    assert any(isinstance(event, Finished) for event in run.events())
    watch = PressWatch(24)
    presses: list[SeenPress] = []
    marks: list[Mark] = []
    for record in read_recording(path).records:
        presses += watch.feed(record)
        if isinstance(record, Marked):
            marks.append(record.mark)
    return presses, marks, watch


def test_named_presses_on_the_practice_bench_teach_the_matrix(tmp_path: object) -> None:
    presses, marks, watch = watched("reversed-tail", str(tmp_path))
    layout = find_layout("demo-7x6")
    lesson = Lesson.begin([" ".join(key.id for key in layout.keys)])
    lesson.marked(marks, presses, 10**9)
    result = learned(lesson.drawn, lesson.learner)
    assert not watch.resting and watch.joined_at_rest == frozenset()
    found = {key.id: {result.board_line[key.row], result.board_line[key.column or ""]} for key in result.keys if key.row}
    turned = {f"R{place}": 7 - place for place in range(1, 8)} | {f"C{place}": 6 + place for place in range(1, 7)}
    assert found == {key.id: {turned[key.row or ""], turned[key.column or ""]} for key in layout.keys}


def test_lines_joined_at_rest_are_seen_without_a_layout(tmp_path: object) -> None:
    _, _, watch = watched("shorted-lines", str(tmp_path))
    assert watch.joined_at_rest == {frozenset({2, 3})}
