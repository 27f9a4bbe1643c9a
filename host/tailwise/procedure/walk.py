"""The press walk: asks for key after key, takes any order, and writes down only what the operator vouches for.

A mark `press K` says that K was pressed once before the next mark. It is written

- when the asked key answered and nothing else did since it was asked (then the prompt names the key for certain),
- when the operator says 'pressed, nothing happened': three times before a key counts as silent, since people miss one
  press in a hundred or so (common practice). A note closes the time of that press, so that the next key is not counted in,
- when the operator says 'it was the asked key' although another one answered: from then on every press counts for the
  key asked for (by name), which is the only way to see a reversed tail.

A key that answers again right after it answered is an echo (a contact that comes and goes splits a press in two) and says
nothing about the next key asked for. Keys that share a crosspoint answer together: only the one asked for is then known to
have been pressed. A key inside a closed rectangle is asked for again, alone; where a stuck key or joined lines close the
rectangle that is no use, and it is left in doubt. A mark's time is that of the last look before the press was seen, so the
press lies behind it. A skipped key was not tried. Once a key is mute, the key comes next whose press tells most about why.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from tailwise.diagnose.guide import telling_key
from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.procedure.order import reading_order, twins
from tailwise.procedure.outcome import QUIET, Command, Outcome, Sound
from tailwise.procedure.sight import Sight, count
from tailwise.words import stages as words

TIMES_ASKED = 3
"""A silent key is asked for this many times before it is accused."""


class KeyNote(StrEnum):
    """What the walk knows of a key."""

    TODO = "todo"
    SEEN = "seen"
    MUTE = "mute"
    SKIPPED = "skipped"
    DOUBT = "doubt"
    STUCK = "stuck"
    MOVED = "moved"


@dataclass
class PressWalk:
    """Prompts and what came of them.

    vouches: False where somebody else (the practice operator) makes the marks; the walk then follows those.
    """

    layout: Layout
    vouches: bool = True
    asked: str | None = None
    by_name: bool = False
    stray: str | None = None
    notes: dict[str, KeyNote] = field(default_factory=dict)
    tries: dict[str, int] = field(default_factory=dict)
    landed: dict[str, str] = field(default_factory=dict)
    in_doubt: bool = False
    _pressed: Mapping[str, int] = field(default_factory=dict)
    _order: tuple[str, ...] = ()
    _twins: dict[str, frozenset[str]] = field(default_factory=dict)
    _history: list[str] = field(default_factory=list)
    _echo: frozenset[str] = frozenset()
    _strays: int = 0
    _stray_new: bool = False
    _stray_us: int = 0
    _clear_us: int = 0
    _now_us: int = 0
    _mark_us: int = 0

    def __post_init__(self) -> None:
        self._order = reading_order(self.layout)
        self._twins = {key: twins(self.layout, key) for key in self._order}
        self.notes = {key: self.notes.get(key, KeyNote.TODO) for key in self._order}
        self._ask(next((key for key in self._order if self.notes[key] is KeyNote.TODO), None))

    @property
    def done(self) -> bool:
        """Nothing left to ask for."""
        return self.asked is None

    def those(self, note: KeyNote) -> tuple[str, ...]:
        """Keys with this note, in the order of the walk."""
        return tuple(key for key in self._order if self.notes[key] is note)

    def resume(self) -> None:
        """The prompt is on show (again) from now on."""
        self._ask(self.asked)

    def see(self, sight: Sight, prompting: bool = True) -> Outcome:
        """Take a look at the board: what newly answered, and what follows from it.

        prompting: False while no prompt is on show, when a press says nothing about what was asked.
        """
        before_us, self._now_us = self._now_us, max(self._now_us, sight.at_us)
        self._take_stuck(sight)
        new = self._told_apart([key for key in self._order if count(sight.pressed, key) > count(self._pressed, key)])
        self._pressed = dict(sight.pressed)
        outcome = QUIET
        if not prompting:
            self.notes |= dict.fromkeys(new, KeyNote.SEEN)
            if self.asked in new:
                self._ask(self._after(self.asked))
        elif new:
            fresh = [key for key in new if key not in self._echo or key == self.asked]
            if fresh:
                outcome = Outcome(sounds=(Sound.PRESS,)) + self._answered(fresh, before_us)
                self._echo = frozenset(fresh)
            self._clear_us = self._now_us
        elif self.asked is not None and self.asked in sight.doubtful:
            self.in_doubt = True
        elif self.in_doubt and self.asked is not None and (sight.stuck or sight.joined):
            self._settle(self.asked, KeyNote.DOUBT)
        return outcome

    def hear(self, mark: Mark) -> None:
        """Follow a mark that somebody else made: the practice operator names the key that comes next."""
        if self.vouches or mark.do is not Deed.PRESS or mark.key not in self.notes:
            return
        if self.asked is not None and self.tries.get(self.asked) and self.notes[self.asked] is KeyNote.TODO:
            self.notes[self.asked] = KeyNote.MUTE
        self.by_name = True
        self._ask(mark.key)
        self.tries[mark.key] = self.tries.get(mark.key, 0) + 1

    def command(self, command: Command) -> Outcome:
        """Do what the operator said with a key; unknown commands do nothing."""
        match command:
            case Command.NOTHING:
                return self._nothing()
            case Command.IT_WAS:
                return self._it_was()
            case Command.SKIP if self.asked is not None:
                self._settle(self.asked, KeyNote.SKIPPED)
            case Command.BACK if self._history:
                key = self._history.pop()
                self.notes[key] = KeyNote.TODO
                self.tries.pop(key, None)
                self._ask(key)
        return QUIET

    def _answered(self, new: list[str], before_us: int) -> Outcome:
        asked = self.asked
        if asked is not None and self.by_name:
            landed = asked if asked in new else new[0]
            marks = self._press_mark(asked, before_us)
            if landed == asked:
                self.landed.pop(asked, None)
                self._settle(asked, KeyNote.SEEN)
            else:
                self.landed[asked] = landed
                self._settle(asked, KeyNote.MOVED)
            return Outcome(marks=marks)
        marks = ()
        for key in new:
            if key == asked:
                marks = self._press_mark(key, before_us) if self._strays == 0 else ()
            else:
                self._strays += 1
                self.stray, self._stray_us = key, before_us
                self._stray_new = self.notes[key] is not KeyNote.SEEN
            self.notes[key] = KeyNote.SEEN
        if asked is None or asked in new:
            self._history += [asked] if asked else []
            self._ask(self._after(asked))
        return Outcome(marks=marks)

    def _told_apart(self, answered: list[str]) -> list[str]:
        """Without the keys that answered only because they share a crosspoint with another."""
        if not self.vouches:
            return answered
        if self.asked in answered:
            return [key for key in answered if key not in self._twins[self.asked]]
        return [key for key in answered if not self._twins[key] & set(answered)]

    def _nothing(self) -> Outcome:
        key = self.asked
        if key is None or not self.vouches:
            return QUIET
        marks = self._press_mark(key, self._clear_us)
        marks += (self._mark(Deed.NOTE, self._now_us, text=words.note_nothing(key)),)
        self._clear_us = self._now_us
        self.tries[key] = self.tries.get(key, 0) + 1
        if self.in_doubt:
            self._settle(key, KeyNote.DOUBT)
        elif self.tries[key] >= TIMES_ASKED:
            self._settle(key, KeyNote.MUTE)
        return Outcome(marks=marks)

    def _it_was(self) -> Outcome:
        if self.by_name or self.asked is None or self.stray is None or not self.vouches:
            self.by_name = False if self.vouches else self.by_name
            return QUIET
        asked, stray = self.asked, self.stray
        marks = self._press_mark(asked, self._stray_us)
        marks += (self._mark(Deed.NOTE, self._now_us, text=words.note_it_was(asked, stray)),)
        if self._stray_new:
            self.notes[stray] = KeyNote.TODO
        self.by_name = True
        self.landed[asked] = stray
        self._settle(asked, KeyNote.MOVED)
        return Outcome(marks=marks)

    def _take_stuck(self, sight: Sight) -> None:
        for key in self._order:
            if key in sight.stuck and self.notes[key] is KeyNote.TODO:
                self.notes[key] = KeyNote.STUCK
                if key == self.asked:
                    self._ask(self._after(key))
            elif key not in sight.stuck and self.notes[key] is KeyNote.STUCK:
                self.notes[key] = KeyNote.TODO
                if self.asked is None:
                    self._ask(key)

    def _settle(self, key: str, note: KeyNote) -> None:
        self.notes[key] = note
        self._history.append(key)
        self._ask(self._after(key))

    def _after(self, key: str | None) -> str | None:
        start = self._order.index(key) + 1 if key in self._order else 0
        rest = self._order[start:] + self._order[:start]
        todo = [candidate for candidate in rest if self.notes[candidate] is KeyNote.TODO]
        return self._telling(todo) or next(iter(todo), None)

    def _telling(self, todo: list[str]) -> str | None:
        """Once a key is mute: the key whose press tells most about why."""
        mute = dict.fromkeys(self.those(KeyNote.MUTE), TIMES_ASKED)
        if not mute or not todo or self.by_name:
            return None
        return telling_key(self.layout, self.those(KeyNote.SEEN), mute, todo)

    def _ask(self, key: str | None) -> None:
        self.asked = key
        self.stray, self._strays, self.in_doubt = None, 0, False
        self._clear_us = max(self._clear_us, self._now_us)

    def _press_mark(self, key: str, at_us: int) -> tuple[Mark, ...]:
        return (self._mark(Deed.PRESS, at_us, key=key),) if self.vouches else ()

    def _mark(self, do: Deed, at_us: int, key: str | None = None, text: str | None = None) -> Mark:
        self._mark_us = max(self._mark_us, at_us)
        return Mark(self._mark_us, do, key=key, text=text)
