"""Observations as trials of keys: how often each was seen, silent, or could not be told.

Idea: a trial is a press somebody vouches for (a press mark, or the statement that every key was pressed) or a press that
was read. Not observed is a value of its own: a key that a blind stretch of 50 ms could have hidden, that lies on lines
joined at rest or that only read closed inside a rectangle is neither seen nor silent.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from tailwise.diagnose.components import Components
from tailwise.model.mark import Deed
from tailwise.model.observation import Attempt, AttemptResult, Observations, Press
from tailwise.observe.tried import could_hide_a_press

EARLY_US = 20_000
"""a press may begin this long before its own mark"""
HOLD_WORTH_US = 250_000
MOST_WORTH = 40
"""a key that stays closed counts as pressed again each quarter of a second, in which a hand presses once"""
VOUCHED_TRIALS = 3
"""the statement that every key was pressed weighs as much as three silent presses: the key was asked for until sure"""


@dataclass(frozen=True, slots=True)
class KeyRecord:
    """What is known of one key: good presses, vouched presses that stayed silent, and whether a statement vouches.

    answered: vouched presses that closed, for certain or (on joined lines) only as far as could be told.
    """

    key: str
    seen: tuple[Press, ...]
    silent: tuple[Attempt, ...]
    vouched: bool
    answered: tuple[Attempt, ...] = ()

    @property
    def misses(self) -> int:
        """How many presses must have been missed if the key is sound."""
        return max(len(self.silent), VOUCHED_TRIALS if self.vouched else 0)

    @property
    def works(self) -> bool:
        """True where the key closed at least once for certain."""
        return bool(self.seen or self.answered)

    @property
    def is_silent(self) -> bool:
        """True where it was asked for and never closed."""
        return not self.works and self.misses > 0

    @property
    def wavers(self) -> bool:
        """True where it closed and also stayed silent when asked for."""
        return self.works and bool(self.silent)

    @property
    def trials(self) -> tuple[tuple[int, bool], ...]:
        """(time, seen) of every trial, in time."""
        closed = [at_us for press in self.seen for at_us in _worth(press)]
        doubtful = [each.start_us for each in self.answered if not any(_during(each, at_us) for at_us in closed)]
        silent = [(each.start_us, False) for each in self.silent]
        return tuple(sorted([*((at_us, True) for at_us in (*closed, *doubtful)), *silent]))


@dataclass(frozen=True)
class Evidence:
    """The trials of a run. `left_out`: keys nothing can be said about, for a reason found elsewhere."""

    observations: Observations
    parts: Components
    left_out: frozenset[str] = frozenset()

    @cached_property
    def records(self) -> dict[str, KeyRecord]:
        """Every key the matrix reaches and nothing rules out."""
        seen: dict[str, list[Press]] = {}
        doubtful: set[str] = set()
        for press in self.observations.presses:
            if self._is_twins(press):
                continue
            if press.certain:
                seen.setdefault(press.key, []).append(press)
            else:
                doubtful.add(press.key)
        silent: dict[str, list[Attempt]] = {}
        answered: dict[str, list[Attempt]] = {}
        unsure: set[str] = set()
        for attempt in self.observations.attempts:
            if attempt.result is AttemptResult.SILENT:
                silent.setdefault(attempt.key, []).append(attempt)
            elif attempt.result is AttemptResult.SEEN or (attempt.result is AttemptResult.UNKNOWN and self._closed_in(attempt)):
                answered.setdefault(attempt.key, []).append(attempt)
            else:
                unsure.add(attempt.key)
        stated = self.observations.every_key_pressed and not self.could_hide
        records: dict[str, KeyRecord] = {}
        for key in self.parts.layout.keys:
            if not key.crosspoints or key.id in self.left_out:
                continue
            never = key.id not in seen and key.id not in doubtful and key.id not in answered and key.id not in unsure
            records[key.id] = KeyRecord(
                key.id,
                tuple(seen.get(key.id, ())),
                tuple(silent.get(key.id, ())),
                stated and never,
                tuple(answered.get(key.id, ())),
            )
        return records

    def _closed_in(self, attempt: Attempt) -> bool:
        """True where the key read closed, if doubtfully, when it was pressed: on joined lines that is its own doing."""
        return any(press.key == attempt.key and _during(attempt, press.start_us) for press in self.observations.presses)

    def _is_twins(self, press: Press) -> bool:
        """True where a key on the same crosspoint was being pressed: two such keys read alike."""
        if not self._shared:
            return False
        points = self._shared.get(press.key, frozenset())
        return any(
            attempt.key != press.key and attempt.start_us <= press.start_us < attempt.end_us and attempt.key in points
            for attempt in self.observations.attempts
        )

    @cached_property
    def _shared(self) -> dict[str, frozenset[str]]:
        """Key -> the other keys on its crosspoints, where there are any."""
        found: dict[str, frozenset[str]] = {}
        for keys in self.parts.layout.keys_at.values():
            for key in keys if len(keys) > 1 else ():
                found[key] = found.get(key, frozenset()) | (frozenset(keys) - {key})
        return found

    @cached_property
    def named(self) -> frozenset[str]:
        """Keys of which the operator said at least once that this very one was pressed or held."""
        held = {mark.key for mark in self.observations.marks if mark.do is Deed.HOLD and mark.key is not None}
        return frozenset(held | {attempt.key for attempt in self.observations.attempts})

    @cached_property
    def could_hide(self) -> bool:
        """True where a press after the rest check may have gone unseen."""
        return could_hide_a_press(self.observations)

    @cached_property
    def seen(self) -> int:
        """Keys that closed for certain."""
        return self._mask(lambda record: record.works)

    @cached_property
    def silent(self) -> int:
        """Keys asked for that never closed."""
        return self._mask(lambda record: record.is_silent)

    @cached_property
    def wavering(self) -> int:
        """Keys that closed and also stayed silent when asked for."""
        return self._mask(lambda record: record.wavers)

    def _mask(self, test: Callable[[KeyRecord], bool]) -> int:
        result = 0
        for key, record in self.records.items():
            if test(record):
                result |= self.parts.bit[key]
        return result


def _worth(press: Press) -> list[int]:
    """The times at which a press counts as one: a key held for seconds is worth many."""
    end = press.start_us if press.end_us is None else press.end_us
    return list(range(press.start_us, max(end, press.start_us) + 1, HOLD_WORTH_US))[:MOST_WORTH]


def _during(attempt: Attempt, at_us: int) -> bool:
    return attempt.start_us - EARLY_US <= at_us < attempt.end_us


def nothing_closed(observations: Observations) -> bool:
    """True where no pair of lines read closed in the whole run: not inserted, or wrong side up."""
    watched = any(watch.closed or watch.openings for watch in observations.watches)
    return not (observations.presses or observations.joined or watched or any(observations.closures.values()))
