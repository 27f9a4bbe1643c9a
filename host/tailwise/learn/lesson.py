"""A lesson: asks for the drawn keys one after another and takes what the watch saw as their sightings.

Kept in a file between sittings (tailwise-lesson/1, JSON): the drawing and every sighting. Marks that name a key (an
operator who works through a list on his own) take the place of the asking.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tailwise.learn.drawing import draw
from tailwise.learn.learner import Learner
from tailwise.learn.sighting import BoardPair, Sighting
from tailwise.learn.watch import SeenPress
from tailwise.model.layout import Key
from tailwise.model.mark import Deed, Mark

FORMAT = "tailwise-lesson/1"


class LessonError(ValueError):
    """A lesson file that cannot be used: file and what was expected."""


@dataclass
class Lesson:
    """The drawing, what was learned so far, and the key that is being asked for."""

    rows: tuple[str, ...]
    learner: Learner
    drawn: tuple[Key, ...]
    history: list[str] = field(default_factory=list)
    title: str = ""
    wanted: str | None = None

    @classmethod
    def begin(cls, rows: Sequence[str], title: str = "") -> Lesson:
        """A new lesson on a drawing; DrawingError where it cannot be read. title: what the keyboard is called."""
        drawn = draw(rows)
        return cls(tuple(rows), Learner(tuple(key.id for key in drawn)), drawn, title=title)

    @property
    def asking(self) -> str | None:
        """The key to press now: the one asked for out of turn, else the next; None when everything is settled."""
        return self.wanted if self.wanted is not None else self.learner.next_key()

    def ask_for(self, key: str) -> None:
        """Ask for this key out of turn, and forget what it showed: the correction of any mistake."""
        self.learner.forget(key)
        self.history = [each for each in self.history if each != key]
        self.wanted = key

    def pressed(self, press: SeenPress) -> str | None:
        """A press was seen: it counts for the key being asked for. The key, or None where it counts for nothing."""
        key = self.asking
        if key is None or not press.known:
            return None
        self._answered(key, press.pairs)
        return key

    def nothing_happened(self) -> None:
        """The key being asked for was pressed and nothing was read."""
        key = self.asking
        if key is not None:
            self._answered(key, ())

    def _answered(self, key: str, pairs: Iterable[BoardPair]) -> None:
        self.learner.saw(key, pairs)
        self.history.append(key)
        self.wanted = None

    def skip(self) -> None:
        """Leave out the key being asked for."""
        key = self.asking
        if key is not None:
            self.learner.skip(key)
            self.wanted = None

    def take_back(self) -> str | None:
        """Forget the key answered last, so that it is asked for again; its name."""
        if not self.history:
            return None
        key = self.history.pop()
        self.learner.forget(key)
        self.wanted = key
        return key

    def marked(self, marks: Sequence[Mark], presses: Sequence[SeenPress], end_us: int) -> None:
        """Sightings from marks that name the keys: each press counts for the newest press mark before it."""
        named = sorted((mark for mark in marks if mark.do is Deed.PRESS and mark.key is not None), key=lambda mark: mark.at_us)
        for number, mark in enumerate(named):
            until = named[number + 1].at_us if number + 1 < len(named) else end_us
            if mark.key not in self.learner.keys:
                continue
            seen = [press for press in presses if mark.at_us <= press.start_us < until]
            if any(not press.known for press in seen):
                continue
            self.learner.saw(mark.key, seen[0].pairs if seen else ())

    def save(self, path: Path) -> None:
        """Write the lesson; the file is replaced only when the new one is whole."""
        value = {
            "format": FORMAT,
            "title": self.title,
            "rows": list(self.rows),
            "sightings": [{"key": each.key, "pairs": sorted(map(list, each.pairs))} for each in self.learner.sightings],
            "skipped": sorted(self.learner.skipped),
        }
        part = path.with_name(path.name + ".part")
        part.write_text(json.dumps(value, indent=1) + "\n", encoding="utf-8")
        part.replace(path)

    @classmethod
    def load(cls, path: Path) -> Lesson:
        """A lesson begun earlier; LessonError where the file is not one."""
        try:
            value: Any = json.loads(path.read_text(encoding="utf-8"))
            if not isinstance(value, dict) or value.get("format") != FORMAT:
                raise LessonError(f"{path}: format: expected {FORMAT}")
            lesson = cls.begin([str(row) for row in value["rows"]], str(value.get("title", "")))
            for each in value["sightings"]:
                pairs = frozenset((int(driven), int(sensed)) for driven, sensed in each["pairs"])
                lesson.learner.sightings.append(Sighting(str(each["key"]), pairs))
            lesson.learner.skipped.update(str(key) for key in value["skipped"])
        except (KeyError, TypeError, json.JSONDecodeError, UnicodeDecodeError) as error:
            raise LessonError(f"{path}: not a whole lesson file ({error!r})") from error
        return lesson
