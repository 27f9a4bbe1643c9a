"""Presses as answers: to the key being asked for, or to the key a mark names.

Where marks name the keys (an operator who works through a list on his own, as on the practice bench), a press counts for the
newest press mark before it. A press is known some time after its end, so a mark is settled only when the mark after the next
one has come, or at the end.
"""

from __future__ import annotations

from dataclasses import dataclass

from tailwise.learn.watch import PressWatch, SeenPress
from tailwise.model.mark import Deed, Mark
from tailwise.recording.format import Marked, Record

LAG = 2


@dataclass(frozen=True, slots=True)
class Answer:
    """key: named by a mark, None for the one asked for. press: what was seen, None where nothing was."""

    key: str | None
    press: SeenPress | None


class Answers:
    """Feed it every record; it gives the answers that are complete. named: marks name the keys, nobody is asked."""

    def __init__(self, lines: int) -> None:
        self.named = False
        self.watch = PressWatch(lines)
        self._marks: list[Mark] = []
        self._presses: list[SeenPress] = []

    def feed(self, record: Record) -> list[Answer]:
        """Answers that this record completes."""
        if isinstance(record, Marked) and record.mark.do is Deed.PRESS and record.mark.key is not None:
            self.named = True
            self._marks.append(record.mark)
        seen = self.watch.feed(record)
        if not self.named:
            return [Answer(None, press) for press in seen]
        self._presses += seen
        return self._settled(LAG)

    def close(self) -> list[Answer]:
        """The end: the last marks are settled."""
        return self._settled(0)

    def _settled(self, lag: int) -> list[Answer]:
        done = []
        while len(self._marks) > max(lag, 1) or (not lag and self._marks):
            mark = self._marks.pop(0)
            until = self._marks[0].at_us if self._marks else None
            own = [
                press for press in self._presses if mark.at_us <= press.start_us and (until is None or press.start_us < until)
            ]
            self._presses = [press for press in self._presses if until is not None and press.start_us >= until]
            if all(press.known for press in own):
                done.append(Answer(mark.key, own[0] if own else None))
        return done
