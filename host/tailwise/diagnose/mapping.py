"""Do the lines stand where the layout says: tails reversed, shifted or swapped, or another keyboard altogether.

Idea: a vouched press names the key that was pressed; what was read names the two lines it landed on. A wrongly inserted
tail moves every line by one rule, so one mapping of lines explains all named presses; on the wrong layout none does. Each
way is weighed as prior * chance of the named presses: a press that the mapping does not explain is an operator's slip; an
arbitrary mapping pays for every line it has to name, a wrong layout for every press.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from tailwise.diagnose.components import Components
from tailwise.diagnose.hypotheses import Rule
from tailwise.diagnose.priors import Priors
from tailwise.harness.seatings import Moves, wrong_seatings
from tailwise.model.fault import Fault, FaultKind
from tailwise.model.layout import Layout
from tailwise.model.observation import AttemptResult, Observations

TIMES_NAMED = 2
"""an arbitrary mapping counts only where each line it moves was named this often"""


@dataclass(frozen=True, slots=True)
class Named:
    """A vouched press of a key with one crosspoint, and the pairs of lines it closed (none: silent)."""

    key: str
    row: str
    column: str
    landed: frozenset[frozenset[str]]


@dataclass(frozen=True, slots=True)
class Way:
    """One way the lines can stand. moves: where each line lands (None: on no contact); empty for a wrong layout."""

    fault: Fault | None
    moves: Moves
    log_weight: float


@dataclass(frozen=True, slots=True)
class Standing:
    """The likeliest way, its chance, and the others."""

    way: Way
    chance: float
    rivals: tuple[tuple[Fault, float], ...]
    named: tuple[Named, ...]


def find_standing(
    observations: Observations, parts: Components, priors: Priors, off: frozenset[Rule] = frozenset()
) -> Standing | None:
    """How the lines stand, where the named presses accuse it enough; None where they stand right or cannot tell."""
    named = _named(observations)
    if not any(_moved(each) for each in named):
        return None
    ways = [Way(None, {line: line for line in parts.layout.lines}, 0.0)]
    others = (*tail_ways(parts.layout, priors), *_free_way(parts.layout, named, priors))
    ways += [way for way in others if _explains_most(way.moves, named)]
    points = _crosspoints(parts.layout)
    weighed = [replace(way, log_weight=way.log_weight + _log_chance(way.moves, named, priors, points)) for way in ways]
    if Rule.OTHER_KEYBOARD not in off:
        weighed.append(_wrong_layout(parts.layout, named, priors))
    best = max(weighed, key=lambda way: way.log_weight)
    total = math.fsum(math.exp(way.log_weight - best.log_weight) for way in weighed)
    right = math.exp(weighed[0].log_weight - best.log_weight) / total
    if best.fault is None or 1.0 - right < priors.accuse_above:
        return None
    shares: dict[Fault, float] = {}
    for way in weighed:
        if way.fault is not None:
            shares[way.fault] = shares.get(way.fault, 0.0) + math.exp(way.log_weight - best.log_weight) / total
    chance = shares.pop(best.fault)
    return Standing(best, chance, tuple(shares.items()), named)


def set_right(observations: Observations, moves: Moves) -> tuple[Observations, frozenset[str]]:
    """The observations as they would be with every line in its place, and the keys that no contact reaches."""
    layout = observations.layout
    real = {
        frozenset((one, two)): key.id
        for key in layout.keys
        for row, column in key.crosspoints
        if (one := moves.get(row)) is not None and (two := moves.get(column)) is not None
    }
    lost = frozenset(
        key.id
        for key in layout.keys
        if key.crosspoints and all(moves.get(row) is None or moves.get(column) is None for row, column in key.crosspoints)
    )
    renamed = {key.id: real[pair] for key in layout.keys for point in key.crosspoints if (pair := frozenset(point)) in real}
    presses = tuple(replace(press, key=renamed[press.key]) for press in observations.presses if press.key in renamed)
    dropouts = tuple(
        replace(each, lost=_rename(each.lost, renamed), kept=_rename(each.kept, renamed)) for each in observations.dropouts
    )
    attempts = []
    for attempt in observations.attempts:
        pairs = {frozenset(pair) for pair in attempt.landed}
        if attempt.result is AttemptResult.SEEN:
            pairs |= {frozenset(point) for point in layout.key_by_id[attempt.key].crosspoints}
        if any(real.get(pair) == attempt.key for pair in pairs):
            attempt = replace(attempt, result=AttemptResult.SEEN, landed=())
        elif attempt.result is AttemptResult.SEEN:
            attempt = replace(attempt, result=AttemptResult.UNKNOWN)
        attempts.append(attempt)
    return replace(observations, presses=presses, dropouts=dropouts, attempts=tuple(attempts)), lost


def _rename(keys: tuple[str, ...], renamed: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(sorted(renamed[key] for key in keys if key in renamed))


def _named(observations: Observations) -> tuple[Named, ...]:
    named = []
    for attempt in observations.attempts:
        key = observations.layout.key_by_id.get(attempt.key)
        if key is None or key.row is None or key.column is None or key.also:
            continue
        if attempt.result is AttemptResult.SEEN:
            landed = frozenset([frozenset((key.row, key.column))])
        elif attempt.result is AttemptResult.ELSEWHERE:
            landed = frozenset(frozenset(pair) for pair in attempt.landed)
        elif attempt.result is AttemptResult.SILENT:
            landed = frozenset()
        else:
            continue
        named.append(Named(key.id, key.row, key.column, landed))
    return tuple(named)


def _moved(named: Named) -> bool:
    return bool(named.landed) and frozenset((named.row, named.column)) not in named.landed


def _explains_most(moves: Moves, named: tuple[Named, ...]) -> bool:
    """True where at least half of the presses that were read landed where this way of standing puts them."""
    landed = [each for each in named if each.landed]
    right = sum({moves.get(each.row), moves.get(each.column)} in [set(pair) for pair in each.landed] for each in landed)
    return 2 * right >= len(landed)


def _log_chance(moves: Moves, named: tuple[Named, ...], priors: Priors, crosspoints: int) -> float:
    """Log chance of the named presses when the lines stand so; a silent key is a dead one, once.

    A slip lands on one of the other crosspoints, each as likely: on a wrong layout every press would be such a slip.
    """
    total = 0.0
    slip = math.log(priors.wrong_key / max(1, crosspoints - 1))
    dead: set[str] = set()
    for each in named:
        row, column = moves.get(each.row), moves.get(each.column)
        reaches = row is not None and column is not None
        if each.landed:
            if not reaches or frozenset(line for line in (row, column) if line is not None) not in each.landed:
                total += slip
        elif reaches and each.key not in dead:
            dead.add(each.key)
            total += math.log(priors.missed_press)
    return total


def tail_ways(layout: Layout, priors: Priors) -> Iterator[Way]:
    """Every way of putting the tails in wrongly, as a fault with its log weight."""
    for seating in wrong_seatings(layout):
        yield Way(_misplaced(seating.moves), seating.moves, seating.changes * math.log(priors.misplaced_tail))


def _misplaced(moves: Moves) -> Fault:
    return Fault(FaultKind.TAIL_MISPLACED, tuple(sorted(line for line, at in moves.items() if at != line)))


def _free_way(layout: Layout, named: tuple[Named, ...], priors: Priors) -> Iterator[Way]:
    """The mapping most named presses agree on, whatever rule it follows; rows stay rows and columns columns."""
    votes: dict[str, Counter[str]] = {}
    columns = set(layout.columns)
    for each in named:
        for pair in each.landed:
            ends = sorted(pair, key=lambda line: line in columns)
            if len(ends) == 2 and ends[1] in columns and ends[0] not in columns:
                votes.setdefault(each.row, Counter())[ends[0]] += 1
                votes.setdefault(each.column, Counter())[ends[1]] += 1
    moves: Moves = {line: line for line in layout.lines}
    for line, count in votes.items():
        most = count.most_common(1)[0]
        if most[0] != line and most[1] >= TIMES_NAMED:
            moves[line] = most[0]
    moved = [line for line, at in moves.items() if at != line]
    targets = [at for at in moves.values() if at is not None]
    if moved and len(set(targets)) == len(targets):
        cost = math.log(priors.misplaced_tail) - len(moved) * math.log(len(layout.lines))
        yield Way(_misplaced(moves), moves, cost)


def _crosspoints(layout: Layout) -> int:
    """Places a press can land on."""
    return max(1, len(layout.rows) * len(layout.columns))


def _wrong_layout(layout: Layout, named: tuple[Named, ...], priors: Priors) -> Way:
    lines: set[str] = set()
    for each in named:
        if _moved(each):
            own = {each.row, each.column}
            read = set().union(*each.landed)
            lines |= own - read
    crosspoints = _crosspoints(layout)
    landed = sum(1 for each in named if each.landed)
    weight = math.log(priors.wrong_layout) - landed * math.log(crosspoints)
    weight += len({each.key for each in named if not each.landed}) * math.log(priors.missed_press)
    return Way(Fault(FaultKind.WRONG_LAYOUT, tuple(sorted(lines))), {}, weight)
