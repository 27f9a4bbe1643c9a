"""One sitting of a lesson at a face: readings and commands in, a picture out.

A press counts for the key being asked for; any key may be asked for out of turn, and asking for it forgets what it showed
before. Everything is kept in the lesson's file after every answer, so a sitting may end at any moment.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from threading import Lock

from tailwise.learn.answers import Answer, Answers
from tailwise.learn.lesson import Lesson
from tailwise.learn.result import Learned, learned
from tailwise.procedure.keystate import KeyState
from tailwise.recording.format import Record


@dataclass(frozen=True)
class LessonPicture:
    """What a face shows. last: the key answered last and the board lines it showed; found: keys with a reading."""

    asking: str | None
    resting: bool
    states: dict[str, KeyState]
    found: int
    total: int
    last: tuple[str, tuple[str, ...]] | None
    joined: tuple[tuple[int, int], ...]
    uncertain: bool
    named: bool
    finished: bool


class Sitting:
    """The lesson while a board is listened to. `hear` belongs to the run's thread, the rest to any."""

    def __init__(self, lesson: Lesson, lines: int, keep: Path | None) -> None:
        """keep: the lesson's file, None to keep nothing."""
        self.lesson = lesson
        self.keep = keep
        self._lock = Lock()
        self._answers = Answers(lines)
        self._last: tuple[str, tuple[str, ...]] | None = None
        self._uncertain = False
        self._states = self._weigh()

    def hear(self, record: Record) -> None:
        """One record of the run; OSError where the lesson cannot be kept."""
        with self._lock:
            answers = self._answers.feed(record)
            for answer in answers:
                self._take(answer)
            if answers:
                self._changed()

    def nothing_happened(self) -> None:
        """The key asked for was pressed and nothing was read."""
        with self._lock:
            key = self.lesson.asking
            if key is not None:
                self.lesson.nothing_happened()
                self._last = key, ()
                self._changed()

    def skip(self) -> None:
        """Leave out the key asked for."""
        with self._lock:
            self.lesson.skip()
            self._changed()

    def take_back(self) -> None:
        """Forget the last answer and ask for its key again."""
        with self._lock:
            self.lesson.take_back()
            self._last = None
            self._changed()

    def ask_for(self, key: str) -> None:
        """Ask for this key now and forget what it showed."""
        with self._lock:
            self.lesson.ask_for(key)
            self._last = None
            self._changed()

    def close(self) -> None:
        """The end of the run: what marks named last is taken in."""
        with self._lock:
            for answer in self._answers.close():
                self._take(answer)
            self._changed()

    def result(self) -> Learned:
        """What was learned so far."""
        with self._lock:
            return learned(self.lesson.drawn, self.lesson.learner)

    def shown(self, key: str) -> tuple[str, ...]:
        """The board lines a key showed, empty where it showed none."""
        with self._lock:
            joints = self.lesson.learner.found().get(key, frozenset())
            return tuple(f"L{line}" for line in sorted({line for joint in joints for line in joint}))

    def picture(self) -> LessonPicture:
        """Everything a face shows."""
        with self._lock:
            watch, named = self._answers.watch, self._answers.named
            asking = self.lesson.asking
            shown = None if watch.resting or named else asking
            states = dict(self._states)
            if shown is not None:
                states[shown] = KeyState.ASKED
            found = sum(state in (KeyState.SEEN, KeyState.DOUBT) for state in self._states.values())
            joined = tuple(sorted((min(pair), max(pair)) for pair in watch.joined_at_rest))
            return LessonPicture(
                shown, watch.resting, states, found, len(states), self._last, joined, self._uncertain, named, asking is None
            )

    def _take(self, answer: Answer) -> None:
        press = answer.press
        self._uncertain = press is not None and not press.known
        if self._uncertain:
            return
        pairs = frozenset() if press is None else press.pairs
        if answer.key is not None:
            key: str | None = answer.key if answer.key in self.lesson.learner.keys else None
            if key is not None:
                self.lesson.learner.saw(key, pairs)
        else:
            key = None if press is None else self.lesson.pressed(press)
        if key is not None:
            self._last = key, tuple(f"L{line}" for line in sorted({line for pair in pairs for line in pair}))

    def _changed(self) -> None:
        self._states = self._weigh()
        if self.keep is not None:
            self.keep.parent.mkdir(parents=True, exist_ok=True)
            self.lesson.save(self.keep)

    def _weigh(self) -> dict[str, KeyState]:
        learner = self.lesson.learner
        found, doubtful, silent = learner.found(), learner.doubtful(), set(learner.not_found)
        states = {}
        for key in learner.keys:
            if key in learner.skipped:
                states[key] = KeyState.SKIPPED
            elif key in found:
                states[key] = KeyState.DOUBT if key in doubtful else KeyState.SEEN
            else:
                states[key] = KeyState.MUTE if key in silent else KeyState.TODO
        return states
