"""The whole procedure: which stage runs, and what looks and commands mean in it. Pure: no clock, no screen, no link."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Pair
from tailwise.procedure.flex import FlexWatch, watch_separated, watch_whole
from tailwise.procedure.flexprompt import flex_prompt
from tailwise.procedure.keystate import KeyState, key_states
from tailwise.procedure.outcome import QUIET, Command, Outcome, Sound
from tailwise.procedure.rest import RestCheck
from tailwise.procedure.sight import Sight
from tailwise.procedure.walk import TIMES_ASKED, KeyNote, PressWalk
from tailwise.words import stages as words


class Stage(StrEnum):
    """The stages, in order."""

    REST = "rest"
    WALK = "walk"
    FLEX = "flex"
    VERDICT = "verdict"


WHOLE = "every line"
APART = "apart "
"""What can be chosen beside a line."""


@dataclass(frozen=True, slots=True)
class Prompt:
    """What the operator reads now: what to do, more about it, and what can be said: names of key bindings and what they do."""

    text: str
    more: str = ""
    hints: tuple[tuple[str, str], ...] = ()


@dataclass
class Procedure:
    """Rest check, press walk and flex watch of one run. vouches: False where another operator makes the marks.

    story: what a practice scenario tells about the keyboard.
    """

    layout: Layout
    vouches: bool = True
    story: str = ""
    stage: Stage = Stage.REST
    rest: RestCheck = field(default_factory=RestCheck)
    flex: FlexWatch | None = None
    sight: Sight = field(default_factory=lambda: Sight(0))
    started: bool = False
    _held_elsewhere: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.walk = PressWalk(self.layout, self.vouches)

    def see(self, sight: Sight) -> Outcome:
        """Take a look at the board; the rest check leads to the press walk by itself."""
        newly_joined = len(sight.joined) > len(self.sight.joined)
        self.sight = sight
        self.started = True
        outcome = Outcome(sounds=(Sound.JOINED,)) if newly_joined else QUIET
        self.rest.see(sight)
        if self.rest.done:
            outcome += self.walk.see(sight, prompting=self.stage is Stage.WALK)
            if self.stage is Stage.REST:
                self.stage = Stage.WALK
                self.walk.resume()
                outcome += Outcome(sounds=(Sound.STEP,))
        if self.flex is not None:
            outcome += self.flex.see(sight)
        return self._vouched(outcome)

    def hear(self, mark: Mark) -> Outcome:
        """A mark that somebody else made: the stages follow the practice operator."""
        if self.vouches:
            return QUIET
        if mark.do is Deed.HOLD and mark.key in self.layout.key_by_id:
            self._held_elsewhere = [*dict.fromkeys([*self._held_elsewhere, mark.key])]
            line = self._shared_line()
            on_line = self.layout.keys_on[line]
            return self.watch(line, tuple(key for key in self._held_elsewhere if key in on_line))
        if mark.do is Deed.RELEASE:
            self._held_elsewhere = [key for key in self._held_elsewhere if key != mark.key]
        elif mark.do is Deed.PRESS:
            self.walk.hear(mark)
            return self.go(Stage.WALK)
        elif self.flex is not None:
            self.flex.follow(mark)
        return QUIET

    def command(self, command: Command) -> Outcome:
        """A key the operator hit."""
        if self.stage is Stage.WALK:
            return self.walk.command(command)
        if self.stage is Stage.FLEX and self.flex is not None:
            return self._vouched(self.flex.command(command))
        return QUIET

    def go(self, stage: Stage) -> Outcome:
        """Change the stage; the watch of a line ends with leaving it, the rest check cannot be left early."""
        if stage is self.stage or not self.rest.done or stage is Stage.REST:
            return QUIET
        left = self.flex.finish() if self.stage is Stage.FLEX and self.flex is not None else QUIET
        self.stage = stage
        if stage is Stage.WALK:
            self.walk.resume()
        return self._vouched(left)

    def watch(self, line: str, hold: tuple[str, ...] = ()) -> Outcome:
        """Choose the line to watch, and the keys to hold where they are known, and go to the flex watch."""
        return self._watch(FlexWatch(self.layout, line, working=self.walk.those(KeyNote.SEEN), hold=hold))

    def watch_chosen(self, chosen: str) -> Outcome:
        """Watch what the operator chose: a line, `WHOLE`, or `APART` with a key."""
        silent = self.walk.those(KeyNote.MUTE)
        if chosen == WHOLE:
            return self._watch(watch_whole(self.layout, silent))
        if chosen.startswith(APART):
            apart = watch_separated(self.layout, chosen.removeprefix(APART), silent)
            return QUIET if apart is None else self._watch(apart)
        return self.watch(chosen)

    def _watch(self, flex: FlexWatch) -> Outcome:
        left = self.flex.finish() if self.flex is not None else QUIET
        self.flex = flex
        if self.rest.done:
            self.stage = Stage.FLEX
        return self._vouched(left)

    @property
    def suspect_key(self) -> str | None:
        """The key that drops out alone: its row and its column come next."""
        suspect = self.flex.suspect if self.flex is not None and self.flex.split is None else None
        return None if suspect is None else suspect[0]

    @property
    def wanted_pairs(self) -> tuple[Pair, ...]:
        """What the board should watch without pause now, as (sensed, driven); none for the matrix.

        A practice operator who holds more than two keys is followed in the matrix, which shows all of them.
        """
        if self.stage is not Stage.FLEX or self.flex is None or self.flex.done:
            return ()
        return self.flex.pairs if self.vouches or 0 < len(self._held_elsewhere) <= 2 else ()

    def likely_line(self) -> str | None:
        """The line most worth watching: most openings, then most silent keys, then most keys tried, then file order."""
        tried = [line for line in self.layout.lines if self.layout.keys_on[line]]
        return max(tried, key=self._suspicion, default=None)

    def line_progress(self, line: str) -> tuple[int, int]:
        """Keys on the line that answered, and all of them."""
        keys = [key for key in self.layout.keys_on.get(line, ()) if key in self.walk.notes]
        return sum(self.walk.notes[key] is KeyNote.SEEN for key in keys), len(keys)

    def states(self) -> dict[str, KeyState]:
        """The live map."""
        return key_states(self.layout, self.walk, self.sight, self.asked_keys())

    def asked_keys(self) -> tuple[str, ...]:
        """Keys the prompt names."""
        if self.stage is Stage.WALK and self.walk.asked is not None:
            return (self.walk.asked,) if self.vouches or self.walk.by_name else ()
        if self.stage is Stage.FLEX and self.flex is not None and not self.flex.done:
            return self.flex.hold
        return ()

    def prompt(self) -> Prompt:
        """What to do now."""
        match self.stage:
            case Stage.REST:
                return self._rest_prompt()
            case Stage.WALK:
                return self._walk_prompt()
            case Stage.FLEX:
                return Prompt(*flex_prompt(self.flex, self.legend, self.vouches))
        return Prompt(words.OVER, hints=words.OVER_HINTS)

    def legend(self, key: str) -> str:
        """What is printed on the key."""
        return self.layout.key_by_id[key].legend or key

    def _vouched(self, outcome: Outcome) -> Outcome:
        return outcome if self.vouches else Outcome(sounds=outcome.sounds)

    def _shared_line(self) -> str:
        """The line that most of the held keys share; of several, the more suspect one."""
        held = [set(self.layout.keys_on[line]) for line in self.layout.lines]
        shared = {line: len(keys & set(self._held_elsewhere)) for line, keys in zip(self.layout.lines, held, strict=True)}
        return max(self.layout.lines, key=lambda line: (shared[line], self._suspicion(line)))

    def line_drops(self, line: str) -> int:
        """Openings while held, of all keys on the line."""
        return sum(self.sight.dropped.get(key, 0) for key in self.layout.keys_on[line])

    def _suspicion(self, line: str) -> tuple[int, int, int]:
        silent = sum(self.walk.notes.get(key) is KeyNote.MUTE for key in self.layout.keys_on[line])
        return self.line_drops(line), silent, self.line_progress(line)[0]

    def _rest_prompt(self) -> Prompt:
        if not self.started:
            return Prompt(words.REST_WAIT)
        more = words.REST_CLEAN
        if self.rest.joined:
            more = words.rest_joined(self.rest.joined)
        elif self.rest.touched:
            more = words.rest_touched(sorted(self.rest.touched))
        return Prompt(words.rest_prompt(self.rest.left_us), more)

    def _walk_prompt(self) -> Prompt:
        walk, left = self.walk, len(self.walk.those(KeyNote.TODO))
        if walk.asked is None:
            seen, total = len(walk.those(KeyNote.SEEN)), len(walk.notes)
            notes = (KeyNote.MUTE, KeyNote.STUCK, KeyNote.MOVED, KeyNote.DOUBT, KeyNote.SKIPPED)
            rest = [(note.value, [self.legend(key) for key in walk.those(note)]) for note in notes]
            hints = words.WALK_DONE_HINTS if self.vouches else words.FOLLOW_HINTS
            return Prompt(words.walk_done(seen, total, rest), hints=hints)
        legend = self.legend(walk.asked)
        if not self.vouches:
            seen = len(walk.those(KeyNote.SEEN))
            watched = words.walk_watch([self.legend(key) for key in sorted(self.sight.down)], seen, len(walk.notes))
            return Prompt(words.walk_follow(legend) if walk.by_name else watched, self.story, words.FOLLOW_HINTS)
        more = ""
        if walk.in_doubt:
            more = words.walk_doubt(legend)
        elif walk.stray is not None and not walk.by_name:
            more = words.walk_stray(legend, self.legend(walk.stray))
        tries = walk.tries.get(walk.asked, 0)
        if tries:
            text = words.walk_again(legend, tries, TIMES_ASKED)
        else:
            text = (words.walk_prompt_by_name if walk.by_name else words.walk_prompt)(legend, left)
        if walk.by_name:
            return Prompt(text, more, words.WALK_HINTS_BY_NAME)
        return Prompt(text, more, words.WALK_HINTS if walk.stray is None else words.walk_hints_stray(legend))
