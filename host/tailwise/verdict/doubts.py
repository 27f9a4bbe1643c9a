"""What keeps a run without findings from being sound: readings and vouched silences that nothing explains.

Theory. People miss a press now and then, about one in a hundred (common practice), some more often. The run's own
rate, taken from the other keys' vouched presses (one miss in fifty more is assumed, so that few presses do not make
it 0), gives the binomial chance that so many presses of one key, or of one line's keys, stayed silent by the hand
alone. Below one in a thousand the hand is not enough.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from enum import Enum
from itertools import combinations

from tailwise.model.mark import Deed
from tailwise.model.observation import AttemptResult, Observations
from tailwise.observe.returns import quick_returns

SHOWN_TIMES = 3
"""From so many episodes on something that comes and goes has shown itself (this tool's own rule)."""

EPISODE_US = 100_000
"""Openings less than this apart are one episode: they come in clusters (common practice)."""

BY_HAND = 1e-3
"""Silences less likely than this by the hand alone are a doubt (this tool's own rule)."""

HANGS_US = 2_000_000
HANGS_THROUGH = 3
"""A key marked as pressed that stays closed for so long and while so many others are pressed hangs (this tool's own rule)."""

LEAST_SILENT = 2
"""One silent press is a missed one."""

ASSUMED_PRESSES = 50
"""Presses with one miss, assumed beside those of the run."""


class DoubtKind(Enum):
    """What is not explained."""

    JOINED = "joined"
    DROPPED = "dropped"
    SILENT_KEY = "silent key"
    SILENT_LINE = "silent line"
    HANGS = "hangs"


@dataclass(frozen=True, slots=True)
class Doubt:
    """names: lines or keys; count: episodes or silent presses; of: presses vouched for, where that is meant."""

    kind: DoubtKind
    names: tuple[str, ...]
    count: int = 0
    of: int = 0


def doubts_of(observations: Observations) -> tuple[Doubt, ...]:
    """Everything unexplained in a run, in a fixed order."""
    return (*_joined(observations), *_dropped(observations), *_silent(observations), *_hanging(observations))


def _joined(observations: Observations) -> list[Doubt]:
    keys_at = observations.layout.keys_at
    pairs = {each.lines for each in observations.joined if each.steady or frozenset(each.lines) not in keys_at}
    return [Doubt(DoubtKind.JOINED, pair) for pair in sorted(pairs)]


def _dropped(observations: Observations) -> list[Doubt]:
    """A key or a pair of keys that dropped out in `SHOWN_TIMES` episodes."""
    episodes: Counter[tuple[str, ...]] = Counter()
    ended: dict[tuple[str, ...], int] = {}
    openings = (*observations.dropouts, *quick_returns(observations))
    for dropout in sorted(openings, key=lambda each: each.start_us):
        for names in (*((key,) for key in dropout.lost), *combinations(dropout.lost, 2)):
            if dropout.start_us - ended.get(names, -EPISODE_US) >= EPISODE_US:
                episodes[names] += 1
            ended[names] = dropout.end_us
    return [Doubt(DoubtKind.DROPPED, names, count) for names, count in sorted(episodes.items()) if count >= SHOWN_TIMES]


def _hanging(observations: Observations) -> list[Doubt]:
    """Keys that a mark says were pressed, not held, and that stayed closed while others were pressed."""
    held = {mark.key for mark in observations.marks if mark.do is Deed.HOLD}
    locking = {key.id for key in observations.layout.keys if key.locking}
    asked = {attempt.key for attempt in observations.attempts}
    most: dict[str, int] = {}
    for press in observations.presses:
        end = observations.end_us if press.end_us is None else press.end_us
        if press.key in held | locking or press.key not in asked or not press.certain or end - press.start_us < HANGS_US:
            continue
        others = {each.key for each in observations.attempts if press.start_us < each.start_us < end and each.key != press.key}
        if len(others) >= HANGS_THROUGH:
            most[press.key] = max(most.get(press.key, 0), len(others))
    return [Doubt(DoubtKind.HANGS, (key,), count) for key, count in sorted(most.items())]


def _silent(observations: Observations) -> list[Doubt]:
    presses: Counter[str] = Counter()
    silent: Counter[str] = Counter()
    for attempt in observations.attempts:
        if attempt.result in (AttemptResult.SEEN, AttemptResult.SILENT):
            presses[attempt.key] += 1
            silent[attempt.key] += attempt.result is AttemptResult.SILENT
    all_presses, all_silent = sum(presses.values()), sum(silent.values())

    def beyond_the_hand(count: int, of: int) -> bool:
        rate = (all_silent - count + 1) / (all_presses - of + ASSUMED_PRESSES)
        return count >= LEAST_SILENT and _at_least(count, of, rate) < BY_HAND

    found = [
        Doubt(DoubtKind.SILENT_KEY, (key,), silent[key], presses[key])
        for key in sorted(presses)
        if beyond_the_hand(silent[key], presses[key])
    ]
    for line, keys in sorted(observations.layout.keys_on.items()):
        count, of = sum(silent[key] for key in keys), sum(presses[key] for key in keys)
        if sum(1 for key in keys if silent[key]) > 1 and beyond_the_hand(count, of):
            found.append(Doubt(DoubtKind.SILENT_LINE, (line,), count, of))
    return found


def _at_least(count: int, trials: int, rate: float) -> float:
    """Binomial chance of `count` or more."""
    if rate >= 1.0:
        return 1.0
    few = math.fsum(math.comb(trials, k) * rate**k * (1 - rate) ** (trials - k) for k in range(count))
    return max(0.0, 1.0 - few)
