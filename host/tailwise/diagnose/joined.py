"""Lines that read joined with nothing pressed: shorts, leaks and stuck contacts.

Idea: joined lines read as a group, since each conducts to all. A group of n lines needs n - 1 joins, so every spanning tree
of the pairs that read joined is an explanation, weighed by the product of the odds of its joins: a stuck contact where a
key stands at a row and a column, a short or a leak elsewhere, neighbours on a tail or on the sheet more often than others.
The heaviest tree gives the findings, the others their rivals. A short pulls any number of inputs down; a leak near the
threshold lets go as soon as a pressed key adds the pull-up of a second line, and so is told from it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import combinations, permutations

from tailwise.diagnose.components import Components
from tailwise.diagnose.evidence import Evidence
from tailwise.diagnose.hypotheses import Rule, odds
from tailwise.diagnose.priors import Priors
from tailwise.model.fault import Fault, FaultKind, Steadiness
from tailwise.model.observation import Dropout, Joined, Observations

MOST_LINES = 6
"""groups larger than this are explained by their heaviest tree alone"""
LARGE_GROUP_CHANCE = 0.5
LETS_GO = 200.0
"""how much likelier a leak is than a short to come apart while a key adds the pull-up of a second input"""
FLICKERS = 3
LONG_JOIN_US = 500_000
"""a join that comes and goes must have been read this often, or once for this long"""
LIKELIER, LESS_LIKELY = 0.6, 0.35

Join = frozenset[str]


@dataclass(frozen=True, slots=True)
class JoinClaim:
    """One join: options with their chances, the accused first; readings: what was read between the two lines.

    reopened: how often the lines came apart and joined again.
    """

    options: tuple[tuple[Fault, float], ...]
    readings: tuple[Joined, ...]
    reopened: int = 0


@dataclass(frozen=True, slots=True)
class JoinedLines:
    """What was found, and the groups of lines that read as one."""

    claims: tuple[JoinClaim, ...]
    groups: tuple[frozenset[str], ...]


def find_joined(
    observations: Observations, parts: Components, priors: Priors, off: frozenset[Rule] = frozenset(),
    hidden: Iterable[Join] = (),
) -> JoinedLines:  # fmt: skip
    """Shorts, leaks and stuck contacts of a run. hidden: joins that diodes hide at rest and that keys gave away."""
    if Rule.JOINED in off:
        return JoinedLines((), ())
    readings: dict[Join, list[Joined]] = {}
    for each in observations.joined:
        readings.setdefault(frozenset(each.lines), []).append(each)
    steady = [pair for pair, seen in readings.items() if any(each.steady for each in seen)]
    groups = _groups(steady)
    steady += [pair for pair in hidden if any(pair <= group for group in groups)]
    reopened = {pair: max(0, _closures(observations, pair) - 1) for pair in steady}
    claims = [claim for group in groups for claim in _explain(group, steady, readings, reopened, parts, priors, off)]
    claims = [claim for claim in claims if not _locked(claim, parts)]
    claims += [
        claim
        for pair, seen in readings.items()
        if pair not in steady and not any(pair <= group for group in groups)
        for claim in _flicker(pair, [each for each in seen if _free(each, observations)], parts)
    ]
    return JoinedLines(tuple(claims), groups)


def keys_within(parts: Components, groups: Iterable[frozenset[str]]) -> frozenset[str]:
    """Keys whose two lines read joined at rest: nothing can be said about them."""
    spread = tuple(groups)
    return frozenset(
        key.id for key in parts.layout.keys if any(set(point) <= group for point in key.crosspoints for group in spread)
    )


def _free(reading: Joined, observations: Observations) -> bool:
    """True where most of a reading fell into time in which no key of its lines was down."""
    spans = sorted(
        (max(press.start_us, reading.start_us), min(reading.end_us if press.end_us is None else press.end_us, reading.end_us))
        for press in observations.presses
        if any(set(reading.lines) & set(point) for point in observations.layout.key_by_id[press.key].crosspoints)
    )
    held, reach = 0, reading.start_us
    for start, end in spans:
        held += max(0, end - max(start, reach))
        reach = max(reach, end)
    return 2 * held <= reading.end_us - reading.start_us


def without_joined(observations: Observations, claims: Iterable[JoinClaim]) -> Observations:
    """The observations without what the joins found explain: a key read on the other line too, and lost on both at once."""
    keys_at = observations.layout.keys_at
    pairs = [claim.options[0][0].lines for claim in claims]
    other = {(one, two) for lines in pairs for one, two in permutations(lines)}

    def moved(pair: tuple[str, str]) -> bool:
        return any(frozenset(two if line == one else line for line in pair) in keys_at and one in pair for one, two in other)

    def doubled(dropout: Dropout) -> bool:
        points = [point for key in dropout.lost for point in observations.layout.key_by_id[key].crosspoints]
        return any(
            frozenset(one) ^ frozenset(two) == frozenset(lines) for one, two in combinations(points, 2) for lines in pairs
        )

    if not pairs:
        return observations
    return replace(
        observations,
        elsewhere=tuple(pair for pair in observations.elsewhere if not moved(pair)),
        dropouts=tuple(each for each in observations.dropouts if not doubled(each)),
    )


def film_of_mute_keys(lines: Iterable[str], evidence: Evidence) -> bool:
    """True where two keys that were asked for and never read closed hang on one line and would join these two through it.

    Such a line is open: while both keys are down its film joins their partner lines. One of the two must have been silent; the
    other may never have been pressed alone.
    """
    records = evidence.records
    mute = {key for key, record in records.items() if record.is_silent}
    asked = {attempt.key for attempt in evidence.observations.attempts}
    never = mute | {key for key, record in records.items() if key in asked and not record.works}
    keys_at = evidence.parts.layout.keys_at
    return any(
        mute.intersection(keys_at.get(frozenset((one, line)), ()))
        and never.intersection(keys_at.get(frozenset((two, line)), ()))
        for one, two in permutations(lines)
        for line in evidence.parts.layout.lines
    )


def _locked(claim: JoinClaim, parts: Components) -> bool:
    """True for a locking key that is simply down."""
    fault = claim.options[0][0]
    return fault.kind is FaultKind.STUCK_CONTACT and parts.layout.key_by_id[fault.keys[0]].locking


def _groups(pairs: Iterable[Join]) -> tuple[frozenset[str], ...]:
    groups: list[frozenset[str]] = []
    for pair in pairs:
        together = pair.union(*(group for group in groups if group & pair))
        groups = [group for group in groups if not group & pair] + [together]
    return tuple(sorted(groups, key=sorted))


def _explain(
    group: frozenset[str], steady: list[Join], readings: dict[Join, list[Joined]], reopened: dict[Join, int],
    parts: Components, priors: Priors, off: frozenset[Rule],
) -> list[JoinClaim]:  # fmt: skip
    order = {line: place for place, line in enumerate(parts.layout.lines)}
    pairs = sorted((pair for pair in steady if pair <= group), key=lambda pair: sorted(order[line] for line in pair))
    weights = {pair: sum(weight for _, weight in _options(pair, reopened.get(pair, 0), parts, priors, off)) for pair in pairs}
    trees = _trees(group, pairs, weights)
    total = math.fsum(weight for _, weight in trees)
    best = max(trees, key=lambda tree: tree[1])[0]
    claims = []
    for pair in best:
        sides = _sides(best, pair, group)
        shares: dict[Join, float] = {}
        for tree, weight in trees:
            crossing = pair if pair in tree else next(each for each in tree if len(each & sides) == 1)
            shares[crossing] = shares.get(crossing, 0.0) + weight / total
        certainty = 1.0 if len(group) <= MOST_LINES else LARGE_GROUP_CHANCE
        ordered = [pair, *(each for each in shares if each != pair)]
        options = [
            (fault, certainty * shares[each] * weight / weights[each])
            for each in ordered
            for fault, weight in _options(each, reopened.get(each, 0), parts, priors, off)
        ]
        claims.append(
            JoinClaim(tuple(_likeliest_first(options, pair)), tuple(readings.get(pair, ())), _weak(reopened.get(pair, 0)))
        )
    return claims


def _closures(observations: Observations, pair: Join) -> int:
    one, two = sorted(pair)
    return max(observations.closures.get((one, two), 0), observations.closures.get((two, one), 0))


def _weak(reopened: int) -> int:
    return reopened if reopened >= FLICKERS else 0


def _likeliest_first(options: list[tuple[Fault, float]], pair: Join) -> list[tuple[Fault, float]]:
    """The likeliest fault of the accused pair first."""
    own = [each for each in options if frozenset(each[0].lines) == pair]
    best = max(own, key=lambda each: each[1])
    return [best, *(each for each in options if each is not best)]


def _options(pair: Join, reopened: int, parts: Components, priors: Priors, off: frozenset[Rule]) -> list[tuple[Fault, float]]:
    """The faults that join two lines, the likeliest first, with their odds."""
    lines = tuple(sorted(pair))
    options: list[tuple[Fault, float]] = []
    if Rule.STUCK not in off:
        for key in sorted(parts.layout.keys_at.get(pair, ())):
            options.append((Fault(FaultKind.STUCK_CONTACT, lines, (key,)), odds(priors.stuck_contact)))
    near = odds(parts.short_chance(pair, priors))
    lets_go = LETS_GO if _weak(reopened) else 1.0
    options.append((Fault(FaultKind.SHORT, lines), near * (1.0 - priors.leak_share) / lets_go))
    if Rule.LEAKS not in off:
        options.append((Fault(FaultKind.LEAK, lines), near * priors.leak_share))
    return options


def _trees(group: frozenset[str], pairs: list[Join], weights: dict[Join, float]) -> list[tuple[tuple[Join, ...], float]]:
    need = len(group) - 1
    if len(group) > MOST_LINES:
        heaviest = sorted(pairs, key=lambda pair: -weights[pair])
        tree: list[Join] = []
        for pair in heaviest:
            if not any(pair <= joined for joined in _groups(tree)):
                tree.append(pair)
        return [(tuple(tree), 1.0)]
    return [
        (tree, math.prod(weights[pair] for pair in tree))
        for tree in combinations(pairs, need)
        if any(joined == group for joined in _groups(tree))
    ]


def _sides(tree: tuple[Join, ...], cut: Join, group: frozenset[str]) -> frozenset[str]:
    """The lines on one side of a join of a tree."""
    rest = _groups(pair for pair in tree if pair != cut)
    one = min(cut)
    return next((side for side in rest if one in side), frozenset((one,)))


def _flicker(pair: Join, seen: list[Joined], parts: Components) -> list[JoinClaim]:
    """A join that comes and goes where no key stands: often, a leak near the threshold; seldom and long, a short that moves."""
    often = len(seen) >= FLICKERS
    longest = max((each.end_us - each.start_us for each in seen), default=0)
    if parts.layout.keys_at.get(pair) or not (often or longest >= LONG_JOIN_US):
        return []
    lines = tuple(sorted(pair))
    leak = Fault(FaultKind.LEAK, lines, steadiness=Steadiness.INTERMITTENT)
    short = Fault(FaultKind.SHORT, lines, steadiness=Steadiness.INTERMITTENT)
    first, second = (leak, short) if often else (short, leak)
    return [JoinClaim(((first, LIKELIER), (second, LESS_LIKELY)), tuple(seen))]
