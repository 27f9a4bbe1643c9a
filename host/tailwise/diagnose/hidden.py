"""Shorts that diodes hide at rest: their keys come in pairs.

Idea: a diode in each of two lines keeps one from pulling the other down, so a short between them reads open with nothing
pressed. But then every key of one closes its partner on the other line with it, within a scan. Two fingers do that once,
not always. The paired presses tell neither key from the other and are no longer certain. A join that comes or goes during
the run shows as a stretch of the run in which the keys came in pairs, however they came before and after.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations, groupby

from tailwise.diagnose.components import Components
from tailwise.diagnose.joined import LESS_LIKELY, LIKELIER
from tailwise.diagnose.priors import Priors
from tailwise.model.fault import Fault, FaultKind, Steadiness
from tailwise.model.observation import Observations, Press

TOGETHER_US = 6_000
LEAST_PAIRS = 3
LEAST_SHARE = 0.9
LEAST_RUN = 3
"""pairs in a row, none alone between them, that show a join which is not there all the time"""
TWO_FINGERS = 0.01
"""chance that two presses of one column begin within 6 ms by themselves (common practice)"""


@dataclass(frozen=True, slots=True)
class HiddenShort:
    """Two lines whose keys come in pairs; options with their chances, the accused first; pairs: how many were seen.

    span: the stretch of the run in which they did, microseconds; None: all of it.
    """

    options: tuple[tuple[Fault, float], ...]
    pairs: int
    span: tuple[int, int] | None = None


def find_hidden_shorts(observations: Observations, parts: Components, priors: Priors) -> Iterator[HiddenShort]:
    """Every pair of lines with diodes whose keys always close together."""
    with_diode = [line for line in parts.layout.lines if line in parts.line_diodes]
    starts: dict[tuple[str, str], list[int]] = {}
    for press in observations.presses:
        for row, column in parts.layout.key_by_id[press.key].crosspoints:
            starts.setdefault((row, column), []).append(press.start_us)
            starts.setdefault((column, row), []).append(press.start_us)
    tree: list[frozenset[str]] = []
    for one, two in sorted(combinations(with_diode, 2), key=lambda pair: frozenset(pair) not in parts.neighbours):
        if any({one, two} <= group for group in tree):
            continue
        trials = _trials(one, two, starts, parts)
        found = _judge(one, two, trials, parts, priors)
        if found is not None:
            together = frozenset((one, two)).union(*(group for group in tree if group & {one, two}))
            tree = [group for group in tree if not group & together] + [together]
            yield found


def _judge(one: str, two: str, trials: list[tuple[int, bool]], parts: Components, priors: Priors) -> HiddenShort | None:
    lines = tuple(sorted((one, two)))
    prior = parts.short_chance(frozenset(lines), priors)
    pairs = sum(paired for _, paired in trials)
    if pairs >= LEAST_PAIRS and pairs / len(trials) >= LEAST_SHARE:
        chance = prior / (prior + TWO_FINGERS**pairs)
        short = (Fault(FaultKind.SHORT, lines), chance * (1 - priors.leak_share))
        return HiddenShort((short, (Fault(FaultKind.LEAK, lines), chance * priors.leak_share)), pairs)
    runs = [[at_us for at_us, _ in run] for paired, run in groupby(trials, key=lambda trial: trial[1]) if paired]
    longest = max(runs, key=len, default=[])
    if len(longest) < LEAST_RUN:
        return None
    chance = prior / (prior + len(trials) * TWO_FINGERS ** len(longest))
    now_and_then = Steadiness.INTERMITTENT
    options = (
        (Fault(FaultKind.LEAK, lines, steadiness=now_and_then), chance * LIKELIER),
        (Fault(FaultKind.SHORT, lines, steadiness=now_and_then), chance * LESS_LIKELY),
    )
    return HiddenShort(options, len(longest), (longest[0], longest[-1]))


def without_pairs(observations: Observations, shorts: tuple[HiddenShort, ...]) -> Observations:
    """The observations with what the shorts make doubtful marked so, and without the readings they explain."""
    if not shorts:
        return observations
    partner = {line: other for short in shorts for line, other in _both_ways(short.options[0][0].lines)}
    spans: dict[str, list[tuple[int, int] | None]] = {}
    for short in shorts:
        for line in short.options[0][0].lines:
            spans.setdefault(line, []).append(short.span)

    def touched(key: str, at_us: int) -> bool:
        own = [
            span for point in observations.layout.key_by_id[key].crosspoints for line in point for span in spans.get(line, ())
        ]
        return any(span is None or span[0] - TOGETHER_US <= at_us <= span[1] + TOGETHER_US for span in own)

    presses = tuple(_doubt(press) if touched(press.key, press.start_us) else press for press in observations.presses)
    dropouts = tuple(each for each in observations.dropouts if not any(touched(key, each.start_us) for key in each.lost))
    keys_at = observations.layout.keys_at
    elsewhere = tuple(
        pair
        for pair in observations.elsewhere
        if not any(frozenset(partner.get(line, line) if line == moved else line for line in pair) in keys_at for moved in pair)
    )
    return replace(observations, presses=presses, dropouts=dropouts, elsewhere=elsewhere)


def _both_ways(lines: tuple[str, ...]) -> tuple[tuple[str, str], tuple[str, str]]:
    one, two = lines
    return (one, two), (two, one)


def _doubt(press: Press) -> Press:
    return replace(press, certain=False)


def _trials(one: str, two: str, starts: dict[tuple[str, str], list[int]], parts: Components) -> list[tuple[int, bool]]:
    """Presses of both lines' keys that have a partner, in time: True where the partner's came with it (told once)."""
    trials: list[tuple[int, bool]] = []
    for (line, partner), times in starts.items():
        if line not in (one, two):
            continue
        other = two if line == one else one
        if frozenset((other, partner)) not in parts.layout.keys_at:
            continue
        others = starts.get((other, partner), [])
        for at_us in times:
            paired = any(abs(at_us - each) <= TOGETHER_US for each in others)
            if line == one or not paired:
                trials.append((at_us, paired))
    return sorted(trials)
