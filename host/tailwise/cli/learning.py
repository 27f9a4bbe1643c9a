"""The conversation of `tailwise layouts learn`: asks on standard error, reads answers from standard input."""

from __future__ import annotations

import argparse
import sys
import threading
from collections import deque
from dataclasses import replace
from pathlib import Path

from tailwise.cli import exits
from tailwise.cli.listening import listen
from tailwise.harness.store import keep_wiring
from tailwise.harness.wiring import Wiring
from tailwise.layoutfile.library import find_layout, shipped_ids
from tailwise.layoutfile.own import own_folder, own_ids
from tailwise.layoutfile.reader import read_layout
from tailwise.learn.drawing import SHAPES, DrawingError, rows_of
from tailwise.learn.keeping import free_id
from tailwise.learn.lesson import Lesson
from tailwise.learn.merge import merge
from tailwise.learn.result import Learned, layout_text, learned, wiring_text
from tailwise.learn.watch import PressWatch, SeenPress
from tailwise.live.marksfile import read_marks
from tailwise.live.run import Run
from tailwise.live.urls import PRACTICE
from tailwise.model.layout import Layout
from tailwise.model.mark import Mark
from tailwise.recording.format import Marked, Record
from tailwise.words import learning as words
from tailwise.words.learnscreens import AS_LEARNED, wiring_kept


class Conversation:
    """One sitting: what the watch sees answers the lesson's question, unless marks name the keys."""

    def __init__(self, lesson: Lesson, lines: int, keep: Path | None, typed: deque[str] | None = None) -> None:
        """typed: first letters of what is typed."""
        self.lesson = lesson
        self.watch = PressWatch(lines)
        self.keep = keep
        self.marks: list[Mark] = []
        self.presses: list[SeenPress] = []
        self.typed: deque[str] = deque() if typed is None else typed
        self.finished = False
        self._asked: str | None = None
        self._was_resting = True

    @property
    def over(self) -> bool:
        """Everything is asked for, or the user stopped."""
        return self.finished

    def hear(self, record: Record) -> None:
        """One record of the run."""
        if isinstance(record, Marked):
            self.marks.append(record.mark)
        for press in self.watch.feed(record):
            self.presses.append(press)
            if not self.marks:
                self._answer(press)
        if self._was_resting and not self.watch.resting:
            self._was_resting = False
            for pair in sorted(map(sorted, self.watch.joined_at_rest)):
                print(words.JOINED, *(f"L{line}" for line in pair), file=sys.stderr)
        while self.typed and not self.finished:
            self._command(self.typed.popleft())
        if not self._was_resting and not self.marks:
            self._ask()

    def _answer(self, press: SeenPress) -> None:
        if not press.known:
            print(words.UNCERTAIN, file=sys.stderr)
            return
        key = self.lesson.pressed(press)
        if key is not None:
            lines = sorted({line for pair in press.pairs for line in pair})
            print(words.saw(key, [f"L{line}" for line in lines]), file=sys.stderr)
            self._save()

    def _command(self, typed: str) -> None:
        if typed == "n":
            self.lesson.nothing_happened()
        elif typed == "s":
            self.lesson.skip()
        elif typed == "u":
            key = self.lesson.take_back()
            if key is not None:
                print(words.taken_back(key), file=sys.stderr)
        elif typed == "q":
            print(words.STOPPED, file=sys.stderr)
            self.finished = True
        self._save()

    def _ask(self) -> None:
        key = self.lesson.asking
        if key is None:
            if not self.finished:
                print(words.DONE, file=sys.stderr)
            self.finished = True
        elif key != self._asked:
            left = len(self.lesson.learner.keys) - len(self.lesson.learner.found())
            print(words.ask(key, left), file=sys.stderr)
        self._asked = key

    def _save(self) -> None:
        if self.keep is not None:
            self.lesson.save(self.keep)

    def close(self) -> None:
        """The end of the run: what marks named is taken in."""
        if self.marks:
            self.lesson.marked(self.marks, self.presses, 1 << 62)
        self._save()


def learn(arguments: argparse.Namespace) -> int:
    """The whole command; gives the exit code."""
    lesson = _lesson(arguments)
    if lesson is None:
        print(words.NO_DRAWING, file=sys.stderr)
        return exits.CALL
    own = arguments.output is None
    arguments.id = arguments.id or (free_id(arguments.title) if own else "learned")
    if own:
        arguments.output = own_folder() / f"{arguments.id}.yaml"
        arguments.output.parent.mkdir(parents=True, exist_ok=True)
    if arguments.output.exists():
        raise FileExistsError(17, "exists", str(arguments.output))
    typed: deque[str] = deque()
    talks: list[Conversation] = []

    def begin(lines: int) -> Conversation:
        talks.append(Conversation(lesson, lines, arguments.lesson, typed))
        return talks[-1]

    def marks(layout: Layout) -> tuple[Mark, ...] | None:
        return None if arguments.marks is None else read_marks(arguments.marks, replace(layout, keys=lesson.drawn))

    threading.Thread(target=read_answers, args=(typed,), daemon=True).start()
    print(words.RESTING, words.BEGIN, sep="\n", file=sys.stderr)
    heard = listen(arguments.port, arguments.lines, begin, Run, marks)
    talks[-1].close()
    if heard.refused:
        return exits.UNTESTABLE
    result = learned(lesson.drawn, lesson.learner)
    if own and result.board_line and not arguments.port.startswith(PRACTICE):
        path = keep_wiring(heard.board, arguments.id, Wiring(dict(result.board_line)), AS_LEARNED)
        print(wiring_kept(str(path)), file=sys.stderr)
    return _write(arguments, result)


def _lesson(arguments: argparse.Namespace) -> Lesson | None:
    if arguments.lesson is not None and arguments.lesson.exists():
        return Lesson.load(arguments.lesson)
    if arguments.draw is not None:
        rows = arguments.draw.read_text(encoding="utf-8").splitlines()
        return Lesson.begin([row for row in rows if row.strip() and not row.startswith("#")])
    if arguments.shape is not None:
        if arguments.shape in SHAPES:
            return Lesson.begin(SHAPES[arguments.shape])
        if arguments.shape in (*shipped_ids(), *own_ids()):
            return Lesson.begin(rows_of(find_layout(arguments.shape)))
        raise DrawingError(f"shape {arguments.shape}: expected one of {', '.join(SHAPES)}, or a known layout's id")
    return None


def read_answers(typed: deque[str]) -> None:
    """First letters of the lines typed, as long as there are any."""
    try:
        for line in sys.stdin:
            typed.append(line.strip().lower()[:1])
    except (OSError, ValueError):
        return  # standard input is closed or not there: the keys alone answer


def _write(arguments: argparse.Namespace, result: Learned) -> int:
    found = sum(key.row is not None for key in result.keys)
    if not found:
        print(words.NOTHING, file=sys.stderr)
        return exits.UNTESTABLE
    arguments.output.write_text(
        layout_text(result, arguments.id, arguments.title, arguments.kind, arguments.specimen), encoding="utf-8"
    )
    if arguments.merge is not None:
        both = merge(read_layout(arguments.output), read_layout(arguments.merge))
        result = result.with_keys(both.keys)
        arguments.output.write_text(
            layout_text(result, arguments.id, arguments.title, arguments.kind, arguments.specimen), encoding="utf-8"
        )
        found = sum(key.row is not None for key in result.keys)
        print(words.merged(len(both.filled), list(both.disagreeing)), file=sys.stderr)
    wiring = arguments.output.with_suffix(".wiring.yaml")
    wiring.write_text(wiring_text(result), encoding="utf-8")
    print(words.written(str(arguments.output), found, len(result.keys)))
    print(words.wiring_written(str(wiring)), file=sys.stderr)
    return exits.SOUND if found == len(result.keys) else exits.UNPROVEN
