"""Shorts that diodes hide at rest: their keys come in pairs.

Idea: a diode in each of two lines keeps one from pulling the other down, so a short between them reads open with nothing
pressed. But then every key of one closes its partner on the other line with it, within a scan. Two fingers do that once,
not always. The paired presses tell neither key from the other and are no longer certain.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

from tailwise.diagnose.components import Components
from tailwise.diagnose.priors import Priors
from tailwise.model.fault import Fault, FaultKind
from tailwise.model.observation import Observations, Press

TOGETHER_US = 6_000
LEAST_PAIRS = 3
LEAST_SHARE = 0.9
TWO_FINGERS = 0.01
"""chance that two presses of one column begin within 6 ms by themselves (common practice)"""


@dataclass(frozen=True, slots=True)
class HiddenShort:
    """Two lines whose keys come in pairs; options with their chances, the accused first; pairs: how many were seen."""

    options: tuple[tuple[Fault, float], ...]
    pairs: int


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
        pairs, lonely = _count(one, two, starts, parts)
        if pairs < LEAST_PAIRS or pairs / (pairs + lonely) < LEAST_SHARE or any({one, two} <= group for group in tree):
            continue
        together = frozenset((one, two)).union(*(group for group in tree if group & {one, two}))
        tree = [group for group in tree if not group & together] + [together]
        prior = parts.short_chance(frozenset((one, two)), priors)
        chance = prior / (prior + TWO_FINGERS**pairs)
        lines = tuple(sorted((one, two)))
        short = (Fault(FaultKind.SHORT, lines), chance * (1 - priors.leak_share))
        yield HiddenShort((short, (Fault(FaultKind.LEAK, lines), chance * priors.leak_share)), pairs)


def without_pairs(observations: Observations, shorts: tuple[HiddenShort, ...]) -> Observations:
    """The observations with what the shorts make doubtful marked so, and without the readings they explain."""
    if not shorts:
        return observations
    partner = {line: other for short in shorts for line, other in _both_ways(short.options[0][0].lines)}
    doubtful = {
        key
        for short in shorts
        for line in short.options[0][0].lines
        for key in observations.layout.keys_on[line]
    }  # fmt: skip
    presses = tuple(_doubt(press) if press.key in doubtful else press for press in observations.presses)
    dropouts = tuple(each for each in observations.dropouts if not doubtful & set(each.lost))
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


def _count(one: str, two: str, starts: dict[tuple[str, str], list[int]], parts: Components) -> tuple[int, int]:
    """How many presses of the one line's keys came with their partner's, and how many alone."""
    pairs = lonely = 0
    for (line, partner), times in starts.items():
        if line != one or frozenset((two, partner)) not in parts.layout.keys_at:
            continue
        others = starts.get((two, partner), [])
        together = sum(1 for at in times if any(abs(at - other) <= TOGETHER_US for other in others))
        pairs += together
        lonely += len(times) - together + max(0, len(others) - together)
    return pairs, lonely
