"""What has to be explained, and which hypotheses can: the conflicts of a run.

Idea: every silent key, every key that wavers and every episode of dropouts is a conflict. Its suspects are the steady
hypotheses that silence the key and silence no key that closed (a working press clears all it used), the intermittent ones
that showed at all, and the operator: a missed press, a slipped finger. Hypotheses with the same consequences for all of
them become one suspect with several options; breaks of one line between which no key was tried become one stretch.
What comes and goes may have swallowed every press of a key, or that key has a fault of its own besides: an intermittent
hypothesis stands there twice, with and without the keys that never closed.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from tailwise.diagnose.episodes import FINGER_US, Episode, Exposure, find_episodes
from tailwise.diagnose.evidence import Evidence
from tailwise.diagnose.hypotheses import Hypothesis, Rule
from tailwise.diagnose.likelihood import log_episodes, log_finger, log_trials, shows
from tailwise.diagnose.priors import DEFAULT_PRIORS, Priors
from tailwise.model.fault import Fault, FaultKind, Place
from tailwise.model.mark import Deed

NEVER = -60.0
SHOWN_BY_EACH = 2
HAND_KNOWN = 50
SILENT_TIMES = 3
"""silent presses alone show that something comes and goes from so many on: people miss a press now and then"""


@dataclass(frozen=True, slots=True)
class Conflict:
    """One thing to explain: a key (its bit) that was silent, or an episode. by_chance: log odds of the operator."""

    key: int
    episode: Episode | None
    by_chance: float


@dataclass(frozen=True, slots=True)
class Suspect:
    """Options that predict the same (none: the operator), the conflicts they explain as bits, and their log odds."""

    options: tuple[Hypothesis, ...]
    hits: int
    log_odds: float

    @property
    def steady(self) -> bool:
        """True for steady faults."""
        return bool(self.options) and self.options[0].steady

    @property
    def by_chance(self) -> bool:
        """True where it is the operator, not the keyboard."""
        return not self.options


@dataclass(frozen=True)
class Case:
    """The conflicts of a run and their suspects, with what it takes to weigh them."""

    evidence: Evidence
    exposure: Exposure
    conflicts: tuple[Conflict, ...]
    suspects: tuple[Suspect, ...]
    wobble_per_s: float = DEFAULT_PRIORS.wobble_per_s

    def log_weight(self, suspect: Suspect, hits: int, taken: int) -> float:
        """Log odds of an intermittent suspect that has to explain the conflicts `hits`; `taken`: keys others silence.

        Silent presses may be its doing or the operator's: both ways are added up.
        """
        hypothesis = suspect.options[0]
        chosen = [self.conflicts[index] for index in range(len(self.conflicts)) if hits >> index & 1]
        counts: dict[str, int] = {}
        for conflict in chosen:
            if conflict.episode is not None:
                counts[conflict.episode.zone] = counts.get(conflict.episode.zone, 0) + 1
        weight = suspect.log_odds + log_episodes(counts, self.exposure.seconds(hypothesis.silences), self.wobble_per_s)
        silent = [conflict.by_chance for conflict in chosen if conflict.key]
        if not silent:
            return weight
        trials = self._log_trials(hypothesis.silences & ~taken)
        missed = math.fsum(silent) if counts else NEVER
        top = max(trials, missed)
        return weight + top + math.log(math.exp(trials - top) + math.exp(missed - top))

    def _log_trials(self, keys: int) -> float:
        if keys not in self._trials:
            self._trials[keys] = log_trials(self._outcomes(keys))
        return self._trials[keys]

    @cached_property
    def _trials(self) -> dict[int, float]:
        """What was worked out before."""
        return {}

    def _outcomes(self, keys: int) -> list[list[bool]]:
        """Trials of some keys in time, cut where a tail was reseated."""
        trials: list[tuple[int, bool]] = []
        for key, record in self.evidence.records.items():
            if self.evidence.parts.bit[key] & keys:
                trials.extend(record.trials)
                if record.vouched and not record.silent:
                    trials.append((0, False))
        reseats = [mark.at_us for mark in self.evidence.observations.marks if mark.do is Deed.RESEAT]
        stretches: list[list[bool]] = [[] for _ in range(len(reseats) + 1)]
        for at_us, seen in sorted(trials):
            stretches[sum(1 for reseat in reseats if reseat <= at_us)].append(seen)
        return stretches


def build_case(
    evidence: Evidence, hypotheses: Iterable[Hypothesis], priors: Priors, off: frozenset[Rule] = frozenset()
) -> Case:
    """The conflicts of a run with every suspect of each."""
    exposure = Exposure(evidence.observations, evidence.parts)
    conflicts = _conflicts(evidence, exposure, priors, off)
    case = Case(evidence, exposure, conflicts, (), priors.wobble_per_s)
    steady: dict[int, list[Hypothesis]] = {}
    intermittent: list[Suspect] = []
    silent = evidence.silent
    for hypothesis in hypotheses:
        if hypothesis.steady:
            cleared = hypothesis.silences & evidence.seen if Rule.CLEARED not in off else 0
            if hypothesis.silences & silent and not cleared:
                hits = _key_hits(conflicts, hypothesis.silences & silent)
                steady.setdefault(hits, []).append(hypothesis)
        else:
            hits = _came_and_went(hypothesis, conflicts, evidence)
            for part in sorted({hits, hits & ~_key_hits(conflicts, silent)} - {0}, reverse=True) if hits else ():
                intermittent.append(Suspect((hypothesis,), part, math.log(hypothesis.odds)))
    suspects = [
        Suspect(options, hits, math.log(sum(each.odds for each in options)))
        for hits, members in steady.items()
        for options in (_merged(members),)
    ]
    suspects += _same_exposure(intermittent, case)
    suspects += [Suspect((), 1 << index, conflict.by_chance) for index, conflict in enumerate(conflicts)]
    return replace(case, suspects=tuple(suspects))


def _conflicts(evidence: Evidence, exposure: Exposure, priors: Priors, off: frozenset[Rule]) -> tuple[Conflict, ...]:
    missed = NEVER if Rule.MISSES in off else math.log(priors.missed_press)
    by_this_hand = NEVER if Rule.MISSES in off else math.log(_missed_press(evidence, priors))
    found = [
        Conflict(evidence.parts.bit[key], None, record.misses * (missed if record.is_silent else by_this_hand))
        for key, record in evidence.records.items()
        if record.is_silent or record.wavers
    ]
    if Rule.INTERMITTENT not in off:
        episodes = find_episodes(evidence.observations, evidence.parts, exposure)
        priors = replace(priors, slip_long=_slip_long(episodes, len(evidence.observations.presses), priors))
        for episode in episodes:
            held_s = exposure.press_s(episode.lost, episode.start_us)
            found.append(Conflict(0, episode, log_finger(episode, held_s, priors)))
    return tuple(found)


def _missed_press(evidence: Evidence, priors: Priors) -> float:
    """How often this hand misses a press: the prior, which weighs like `HAND_KNOWN` presses, and the vouched presses.

    A faulty line must not make the hand look careless, so the line that would lower the rate most is left out.
    """
    tried = {key: len(record.answered) + len(record.silent) for key, record in evidence.records.items()}
    silent = {key: len(record.silent) for key, record in evidence.records.items()}
    every, mute = sum(tried.values()), sum(silent.values())
    rates = [priors.missed_press]
    for keys in evidence.parts.layout.keys_on.values():
        own = [key for key in keys if key in tried]
        misses = HAND_KNOWN * priors.missed_press + mute - sum(silent[key] for key in own)
        rates.append(misses / (HAND_KNOWN + every - sum(tried[key] for key in own)))
    return min(rates)


def _slip_long(episodes: tuple[Episode, ...], presses: int, priors: Priors) -> float:
    """How often this hand doubles a press: the prior, which weighs like `HAND_KNOWN` presses, and the keys it happened on."""
    long = {episode.lost for episode in episodes if episode.together == 1 and episode.longest_us >= FINGER_US}
    return (HAND_KNOWN * priors.slip_long + len(long)) / (HAND_KNOWN + presses)


def _key_hits(conflicts: tuple[Conflict, ...], keys: int) -> int:
    return sum(1 << index for index, conflict in enumerate(conflicts) if conflict.key & keys)


def _came_and_went(hypothesis: Hypothesis, conflicts: tuple[Conflict, ...], evidence: Evidence) -> int:
    """What an intermittent hypothesis explains; nothing where it never came and went on one key."""
    hits = showed = dropped = silences = 0
    for index, conflict in enumerate(conflicts):
        if conflict.episode is not None:
            if shows(hypothesis, conflict.episode):
                hits |= 1 << index
                showed |= 1
                dropped += 1
        elif conflict.key & hypothesis.silences:
            hits |= 1 << index
            showed |= conflict.key & evidence.wavering
            silences += sum(evidence.records[key].misses for key in evidence.parts.ids(conflict.key))
    if not dropped and silences < SILENT_TIMES:
        return 0
    if showed and len(hypothesis.fault.lines) > 1 and not _lines_show(hypothesis, hits, conflicts, evidence):
        return 0
    return hits if showed else 0


def _lines_show(hypothesis: Hypothesis, hits: int, conflicts: tuple[Conflict, ...], evidence: Evidence) -> bool:
    """True where a crack that comes and goes took two of its lines at one instant, or two of them more than once each.

    Half of its lines must have shown it, by one key again and again or by several silent ones: fingers double a press here and
    there. Keys that all hang on one crossing line show that line, not a crack.
    """
    parts = evidence.parts
    times: dict[str, Counter[int]] = {line: Counter() for line in hypothesis.fault.lines}
    shown = 0
    together: set[str] = set()
    for index, conflict in enumerate(conflicts):
        if not hits >> index & 1:
            continue
        lost = conflict.key if conflict.episode is None else conflict.episode.lost
        touched = [line for line in times if parts.on_line[line] & lost]
        if conflict.episode is not None and conflict.episode.together > 1 and len(touched) > 1:
            together.update(touched)
        shown |= lost
        for line in touched:
            times[line].update(bit for bit in parts.bit.values() if bit & lost & parts.on_line[line] and conflict.episode)
            times[line][0] += conflict.episode is None
    crossed = any(not shown & ~keys for line, keys in parts.on_line.items() if line not in times)
    if together:
        crossed = False
    open_lines = together | {line for line, counts in times.items() if max(counts.values(), default=0) >= SHOWN_BY_EACH}
    return not crossed and len(open_lines) > 1 and 2 * len(open_lines) >= len(times)


def _merged(members: list[Hypothesis]) -> tuple[Hypothesis, ...]:
    """Breaks of one line between which nothing was tried, as one stretch; the most likely option first."""
    kept: list[Hypothesis] = []
    breaks: dict[str, list[Hypothesis]] = {}
    for each in members:
        if each.fault.kind is FaultKind.BROKEN_TRACE and each.fault.place is not None:
            breaks.setdefault(each.fault.place.line, []).append(each)
        else:
            kept.append(each)
    kept += [group[0] if len(group) == 1 else joined_stretch(group) for group in breaks.values()]
    return tuple(sorted(kept, key=lambda each: -each.odds))


def joined_stretch(group: list[Hypothesis]) -> Hypothesis:
    """One hypothesis for breaks along one path: from the start of the first stretch to the end of the last."""
    ordered = sorted(group, key=lambda each: -each.silences.bit_count())
    first, last = ordered[0].fault, ordered[-1]
    assert first.place is not None and last.fault.place is not None
    place = Place(first.place.line, first.place.after, last.fault.place.before)
    fault = Fault(last.fault.kind, last.fault.lines, last.fault.keys, place, last.fault.steadiness)
    return Hypothesis(fault, last.silences, sum(each.odds for each in group), last.steady, tuple(ordered))


def _same_exposure(intermittent: list[Suspect], case: Case) -> list[Suspect]:
    """Intermittent breaks of one line with the same consequences and the same time to show them, as one stretch."""
    groups: dict[object, list[Suspect]] = {}
    for number, each in enumerate(intermittent):
        option = each.options[0]
        if option.fault.kind is FaultKind.BROKEN_TRACE:
            seconds = tuple(sorted(case.exposure.seconds(option.silences).items()))
            seen = option.silences & (case.evidence.seen | case.evidence.silent)
            groups.setdefault((option.fault.lines, each.hits, seconds, seen), []).append(each)
        else:
            groups[number] = [each]
    joined: list[Suspect] = []
    for group in groups.values():
        option = group[0].options[0] if len(group) == 1 else joined_stretch([each.options[0] for each in group])
        joined.append(Suspect((option,), group[0].hits, math.log(option.odds)))
    return joined
