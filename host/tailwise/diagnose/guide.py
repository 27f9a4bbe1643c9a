"""Which key to press next, while a run is still going on.

Idea: the explanations of what was seen so far are possible worlds, each with its chance. A key that is silent in some of
them and works in others tells them apart: the gain of pressing it is the mutual information between what it will do and
which world it is. Keys that tell nothing are still to be pressed once, for coverage.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import product

from tailwise.diagnose.engine import read_run
from tailwise.diagnose.evidence import VOUCHED_TRIALS, Evidence
from tailwise.diagnose.gde import entropy
from tailwise.diagnose.hypotheses import Hypothesis
from tailwise.diagnose.inference import weighed_problems
from tailwise.diagnose.nextstep import PRICES, Step
from tailwise.diagnose.priors import DEFAULT_PRIORS, Priors
from tailwise.diagnose.suspects import Case, Suspect
from tailwise.model.layout import Layout
from tailwise.model.observation import Attempt, AttemptResult, Observations, Press
from tailwise.words import diagnosis as say

LEAST_GAIN_BITS = 0.005
GHOST = 0.001
"""chance that a key closes although a steady fault silences it"""
MOST_OPTIONS = 8
MOST_WORLDS = 400

Worlds = Sequence[tuple[int, float]]


def next_presses(observations: Observations, priors: Priors = DEFAULT_PRIORS, most: int = 5) -> tuple[Step, ...]:
    """The presses worth most now, best first; then keys not tried yet, in the layout's order; at most `most`."""
    case = read_run(observations, priors)
    steps = _telling(case, priors)
    ranked = sorted(steps, key=lambda step: -step.gain_bits)
    named = {step.keys[0] for step in ranked}
    evidence, parts = case.evidence, case.evidence.parts
    for key in parts.layout.keys:
        record = evidence.records.get(key.id)
        untried = record is not None and not record.works and not record.silent and not record.vouched
        if untried and key.id not in named:
            ranked.append(Step("press", say.step_press_once(key.id), PRICES["press"], 0.0, (key.id,)))
    return tuple(ranked[:most])


def something_wrong(observations: Observations, priors: Priors = DEFAULT_PRIORS) -> bool:
    """True where a key was silent and it is not yet settled why: the press walk then follows `next_presses`."""
    return bool(_telling(read_run(observations, priors), priors))


def worlds_of(case: Case) -> Iterator[Worlds]:
    """For each problem of a case its possible worlds: the keys (bits) that steady faults silence, and the chance."""
    for suspects, shares in weighed_problems(case):
        worlds: dict[int, float] = {}
        for chosen, share in shares[:MOST_WORLDS]:
            for silences, part in _expanded([suspects[each] for each in chosen]):
                worlds[silences] = worlds.get(silences, 0.0) + share * part
        yield tuple(worlds.items())


def _telling(case: Case, priors: Priors) -> list[Step]:
    gains: dict[str, float] = {}
    for worlds in worlds_of(case):
        for key, bit in _askable(case.evidence):
            gain = _gain(worlds, bit, priors)
            if gain >= LEAST_GAIN_BITS:
                gains[key] = gains.get(key, 0.0) + gain
    return [Step("press", say.step_press_once(key), PRICES["press"], gain, (key,)) for key, gain in gains.items()]


def _askable(evidence: Evidence) -> list[tuple[str, int]]:
    """Keys that did not answer yet and were not asked for often enough."""
    return [
        (key, evidence.parts.bit[key])
        for key, record in evidence.records.items()
        if not record.works and record.misses < VOUCHED_TRIALS
    ]


def _gain(worlds: Worlds, bit: int, priors: Priors) -> float:
    total = math.fsum(chance for _, chance in worlds)
    if total <= 0:
        return 0.0
    mixed = noise = 0.0
    for silences, chance in worlds:
        silent = 1.0 - GHOST if silences & bit else priors.missed_press
        mixed += chance / total * silent
        noise += chance / total * entropy((silent, 1.0 - silent))
    return max(0.0, entropy((mixed, 1.0 - mixed)) - noise)


def _expanded(chosen: Sequence[Suspect]) -> Iterator[tuple[int, float]]:
    """The worlds of one explanation: one option of each steady suspect, with the share of that choice."""
    menus = [_menu(suspect) for suspect in chosen if suspect.steady]
    if math.prod(len(menu) for menu in menus) > MOST_WORLDS:
        menus = [menu[:1] for menu in menus]
    for options in product(*menus):
        silences, share = 0, 1.0
        for option, part in options:
            silences |= option.silences
            share *= part
        yield silences, share


def _menu(suspect: Suspect) -> list[tuple[Hypothesis, float]]:
    options = [part for option in suspect.options for part in (option.members or (option,))][:MOST_OPTIONS]
    total = math.fsum(each.odds for each in options)
    return [(each, each.odds / total) for each in options]


def telling_key(
    layout: Layout, seen: Collection[str], silent: Mapping[str, int], todo: Collection[str], priors: Priors = DEFAULT_PRIORS
) -> str | None:
    """Of the keys still to do the one whose press tells most about the silent ones; None where none tells anything.

    seen: keys that closed. silent: key -> how often it was asked for in vain. For a press walk, which knows only that.
    """
    presses = tuple(Press(key, place, place + 1) for place, key in enumerate(seen))
    attempts = tuple(
        Attempt(key, place, place + 1, AttemptResult.SILENT) for key, times in silent.items() for place in range(times)
    )
    case = read_run(Observations(layout, presses, attempts=attempts, started=True), priors)
    steps = [step for step in _telling(case, priors) if step.keys[0] in todo]
    return max(steps, key=lambda step: step.gain_bits).keys[0] if steps else None
