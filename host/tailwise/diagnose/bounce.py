"""Contacts that bounce longer than their build allows.

Idea: bounce as ASTM F1661-09 measures it, make and break apart; the longer of the two counts. A contact that chatters may stay
closed for some milliseconds in between, so openings of this key alone that follow either end of a press, or each other,
within `QUIET_US` belong to its bounce, up to `LONGEST_US` from that end; a longer opening in the middle splits a doubled
press, unless the key was held. A doubled press of a worn contact may never open for long: one cluster of short openings in
the middle is the end of one and the start of the other, as seldom as fingers double. A sound contact exceeds its limit
rarely, and the less the further (e-fold in 10 ms, from memory); a worn one on most presses. An intermittent contact opens
anywhere in a press, so openings that all begin at its ends speak for bounce. Limits: the layout's own, else 20 ms for film
and rubber, 10 ms for switches (makers' figures: domes under 20; measured parts under 6.2 ms).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from tailwise.diagnose.episodes import one_of_twins
from tailwise.diagnose.evidence import Evidence
from tailwise.diagnose.hypotheses import odds
from tailwise.diagnose.priors import Priors
from tailwise.model.fault import Fault, FaultKind, Steadiness
from tailwise.model.layout import KeyboardKind, Layout
from tailwise.model.observation import Dropout, Observations, Press
from tailwise.observe.returns import quick_returns

EDGE_US = 60_000
QUIET_US = 15_000
LONGEST_US = 100_000
"""chatter without a pause longer than `QUIET_US` goes on for no longer (this tool's own rule)"""
BACK_US = 30_000
"""a short press that is mostly chatter and another one so soon after or before it are one: chatter opens for long at times"""
LIFTED_US = 10_000
HELD_US = 2_000_000
"""a key down for longer is held, not pressed: what opens in the middle of that is no bounce and no second press"""
LATE_SHARE = 0.3
"""share of worn contacts' presses that chatter again after a quiet while"""
FALL_US = 10_000.0
WORN_SHARE = 0.8
"""share of the presses of a worn contact that exceed the limit"""
MOST_LOG = 500.0


@dataclass(frozen=True, slots=True)
class LongBounce:
    """A press that bounced for longer than the limit."""

    press: Press
    bounce_us: int


@dataclass(frozen=True, slots=True)
class BounceClaim:
    """A key that bounces: its chance, its rivals, the presses that show it and the openings that belong to them."""

    fault: Fault
    chance: float
    rivals: tuple[tuple[Fault, float], ...]
    presses: tuple[LongBounce, ...]
    openings: frozenset[Dropout]
    limit_us: int


def bounce_limit_us(layout: Layout) -> int:
    """The longest bounce a sound contact of this layout shows, microseconds."""
    if layout.limits is not None:
        return round(layout.limits.bounce_ms * 1000)
    return 10_000 if layout.kind is KeyboardKind.SWITCHES else 20_000


def find_bouncing(evidence: Evidence, priors: Priors) -> Iterator[BounceClaim]:
    """Every key whose bounce is more than `accuse_above` neither chance nor an intermittent contact."""
    parts, observations = evidence.parts, evidence.observations
    limit = bounce_limit_us(parts.layout)
    alone: dict[str, list[Dropout]] = {}
    for dropout in observations.dropouts:
        if len(lost := one_of_twins(dropout, observations, parts).lost) == 1:
            alone.setdefault(lost[0], []).append(dropout)
    told: dict[str, tuple[Press, ...]] = {}
    for key, record in evidence.records.items():
        alike = [other for other in parts.twins.get(key, ()) if _same(told.get(other, ()), record.seen)]
        told[key] = record.seen
        claim = None if alike else _judge_key(key, record.seen, alone.get(key, []), limit, priors)
        if claim is not None:
            yield _shared(claim, [each for each in parts.twins.get(key, ()) if _same(evidence.records[each].seen, record.seen)])


def _same(presses: tuple[Press, ...], others: tuple[Press, ...]) -> bool:
    return bool(presses) and [each.start_us for each in presses] == [each.start_us for each in others]


def _shared(claim: BounceClaim, twins: list[str]) -> BounceClaim:
    """A claim about a key that reads like others: each of them is as likely."""
    chance = claim.chance / (1 + len(twins))
    others = tuple((Fault(FaultKind.BOUNCING_CONTACT, (), (key,)), chance) for key in twins)
    return replace(claim, chance=chance, rivals=(*others, *claim.rivals))


def without_bounce(observations: Observations, claims: tuple[BounceClaim, ...]) -> Observations:
    """The observations without the openings that bounce explains, and with the gaps of other keys that closed again at once."""
    explained = frozenset[Dropout]().union(*(claim.openings for claim in claims))
    worn = {key for claim in claims for key in claim.fault.keys}
    dropouts = [each for each in observations.dropouts if each not in explained]
    dropouts += [each for each in quick_returns(observations) if not worn.intersection(each.lost)]
    return replace(observations, dropouts=tuple(dropouts))


def _judge_key(key: str, presses: tuple[Press, ...], openings: list[Dropout], limit: int, priors: Priors) -> BounceClaim | None:
    sound = worn = 0.0
    anywhere = math.log(odds(priors.intermittent_contact))
    long: list[LongBounce] = []
    explained: set[Dropout] = set()
    for press, inside in _parts(_rejoined(presses), openings, explained):
        make_us, break_us = _make_us(press, inside), _break_us(press, inside)
        between = _between(press, inside, make_us, break_us)
        far = [each for each in between if _far(press, each)]
        if not _one_cluster(far):
            return None
        if between:
            worn += math.log(priors.slip_long if far else LATE_SHARE)
        explained.update(inside)
        bounce = max(make_us, break_us)
        if not far and (inside or bounce > limit):
            apart = make_us + break_us < _end(press) - press.start_us
            ends = 2 if apart and make_us > limit and break_us > limit else 1
            anywhere += ends * math.log(min(1.0, 2 * QUIET_US / max(1, _end(press) - press.start_us)))
        if bounce > limit:
            long.append(LongBounce(press, bounce))
            sound += math.log(priors.long_bounce) - (bounce - limit) / FALL_US
            worn += math.log(WORN_SHARE)
        else:
            worn += math.log(1.0 - WORN_SHARE)
    worn += math.log(odds(priors.bouncing_contact))
    if not long:
        return None
    against_sound = _share(worn, sound)
    if against_sound < priors.accuse_above or (explained and worn < anywhere):
        return None
    chance = against_sound * (_share(worn, anywhere) if explained else 1.0)
    rival = Fault(FaultKind.INTERMITTENT_CONTACT, (), (key,), None, Steadiness.INTERMITTENT)
    accused = Fault(FaultKind.BOUNCING_CONTACT, (), (key,))
    return BounceClaim(accused, chance, ((rival, against_sound - chance),), tuple(long), frozenset(explained), limit)


def _rejoined(presses: Iterable[Press]) -> list[Press]:
    """Presses with the pieces that chatter left of them joined on again."""
    joined: list[Press] = []
    for press in presses:
        before = joined[-1] if joined else None
        if before is None or before.end_us is None or press.start_us - before.end_us > BACK_US:
            joined.append(press)
        elif _is_chatter(before):
            make_us = press.start_us + press.make_bounce_us - before.start_us
            joined[-1] = replace(before, end_us=press.end_us, make_bounce_us=make_us, break_bounce_us=press.break_bounce_us)
        elif press.end_us is not None and _is_chatter(press):
            break_us = press.end_us - before.end_us + before.break_bounce_us
            joined[-1] = replace(before, end_us=press.end_us, break_bounce_us=break_us)
        else:
            joined.append(press)
    return joined


def _is_chatter(press: Press) -> bool:
    """True for a short press that bounces for half of it or more: a piece of one, not a tap."""
    length = _end(press) - press.start_us
    return length < EDGE_US and 2 * (press.make_bounce_us + press.break_bounce_us) >= length


def _parts(presses: Iterable[Press], openings: list[Dropout], splits: set[Dropout]) -> Iterator[tuple[Press, list[Dropout]]]:
    """Every press with its openings; one that a finger left in the middle is two, the opening between one of the `splits`."""
    for press in presses:
        inside = [each for each in openings if press.start_us <= each.start_us and each.end_us <= _end(press)]
        far = [each for each in _between(press, inside, _make_us(press, inside), _break_us(press, inside)) if _far(press, each)]
        if _end(press) - press.start_us > HELD_US:
            yield press, [each for each in inside if not _far(press, each)]
            continue
        longest = max(far, key=lambda each: each.end_us - each.start_us, default=None)
        if longest is None or longest.end_us - longest.start_us < LIFTED_US:
            yield press, inside
            continue
        splits.add(longest)
        halves = (
            replace(press, end_us=longest.start_us, break_bounce_us=0),
            replace(press, start_us=longest.end_us, make_bounce_us=0),
        )
        yield from _parts(halves, inside, splits)


def _between(press: Press, inside: list[Dropout], make_us: int, break_us: int) -> list[Dropout]:
    """Openings that neither end of the press explains."""
    return [each for each in inside if each.start_us > press.start_us + make_us and each.end_us < _end(press) - break_us]


def _one_cluster(openings: list[Dropout]) -> bool:
    """True where they follow each other closely, for no longer than the ends of two presses chatter."""
    ordered = sorted(openings, key=lambda each: each.start_us)
    close = all(two.start_us - one.end_us <= QUIET_US for one, two in pairwise(ordered))
    return not ordered or (close and ordered[-1].end_us - ordered[0].start_us <= 2 * EDGE_US)


def _far(press: Press, opening: Dropout) -> bool:
    return opening.end_us - press.start_us > EDGE_US and _end(press) - opening.start_us > EDGE_US


def _end(press: Press) -> int:
    return press.start_us if press.end_us is None else press.end_us


def _make_us(press: Press, inside: list[Dropout]) -> int:
    """From the start of a press to the end of the openings that follow it closely."""
    reach = press.start_us + press.make_bounce_us
    for each in sorted(inside, key=lambda one: one.start_us):
        if each.start_us - reach > QUIET_US or each.end_us - press.start_us > LONGEST_US:
            break
        reach = max(reach, each.end_us)
    return reach - press.start_us


def _break_us(press: Press, inside: list[Dropout]) -> int:
    """From the first of the openings that lead up to the end of a press closely to that end."""
    reach = _end(press) - press.break_bounce_us
    for each in sorted(inside, key=lambda one: -one.end_us):
        if reach - each.end_us > QUIET_US or _end(press) - each.start_us > LONGEST_US:
            break
        reach = min(reach, each.start_us)
    return _end(press) - reach


def _share(one: float, other: float) -> float:
    return 1.0 / (1.0 + math.exp(min(MOST_LOG, max(-MOST_LOG, other - one))))
