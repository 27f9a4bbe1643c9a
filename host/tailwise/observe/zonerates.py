"""Zones compared with the film left alone: where do the episodes fall, and when has enough been seen?

Theory. In each zone k episodes fell in t seconds of flexing, c in s seconds of control. With one rate in both, k of k + c is
binomial with share t / (t + s) (`rates.more_often`); Holm's correction over the zones of the layout keeps the chance of any
false accusation below alpha.

Which zone moves it is asked in two ways, each at half of alpha: against the film left alone, and against all other time, other
zones included. The second knows more where the other zones were moved for long and stayed quiet; the first is right where
two zones move the fault.

Enough as early as it may: a person looks after every episode, so alpha is spent on the looks. The k-th episode of a zone may
say 'it moves' where its p-value stays at or below

    alpha / zones * 2 ** -(k - FEWEST + 1)          from the FEWEST-th episode on

whose sum over all looks is alpha / zones, so that stopping at the first of them is as safe as one look at the end (union
bound). With 45 s of quiet control and seven zones the third episode is enough within 8 s of flexing, the fourth within 11.
A zone is quiet by Wald's test of episodes over time (`rates.EpisodeTest`): without any episode after 20 s. 'Nothing seen'
is a bound, not soundness: `poisson.most_unseen`. Rates are episodes per second, their intervals exact (Garwood 1936).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tailwise.observe.poisson import most_unseen, poisson_limits
from tailwise.observe.rates import Enough, EpisodeTest, corrected, more_often

ALPHA = 0.05
FEWEST = 3
"""Two episodes are no pattern (common practice)."""

QUIET = EpisodeTest(low=0.02, high=0.25, alpha=ALPHA, beta=0.01)
"""A fault worth finding shows an episode every four seconds while its place is moved (common practice)."""


@dataclass(frozen=True, slots=True)
class Seen:
    """Episodes in so many seconds in which they could have shown."""

    episodes: int = 0
    seconds: float = 0.0

    @property
    def rate(self) -> float:
        """Episodes per second; 0 without time."""
        return self.episodes / self.seconds if self.seconds > 0 else 0.0

    @property
    def limits(self) -> tuple[float, float]:
        """Exact 95 % interval of the rate, per second."""
        if self.seconds <= 0:
            return 0.0, float("inf")
        low, high = poisson_limits(self.episodes)
        return low / self.seconds, high / self.seconds

    @property
    def bound(self) -> float:
        """Where nothing was seen: the rate it could still have (95 %, one-sided)."""
        return most_unseen(self.seconds)


@dataclass(frozen=True, slots=True)
class ZoneRate:
    """One zone: p_value against the control as it is, corrected for the number of zones, and whether to go on.

    elsewhere: the control and all other zones together; elsewhere_corrected: the corrected p-value against them.
    """

    zone: str
    seen: Seen
    p_value: float
    corrected: float
    enough: Enough
    elsewhere: Seen = Seen()
    elsewhere_corrected: float = 1.0


def compare(control: Seen, zones: Mapping[str, Seen], number: int) -> dict[str, ZoneRate]:
    """Every flexed zone against the control, and against all else; number: the zones of the layout, flexed or not."""
    number = max(number, len(zones), 1)
    p_values = {zone: _chance(seen, control) for zone, seen in zones.items()}
    unflexed = {f"\0{place}": 1.0 for place in range(number - len(zones))}
    holm = corrected({**p_values, **unflexed})
    whole = [control, *zones.values()]
    episodes, seconds = sum(each.episodes for each in whole), sum(each.seconds for each in whole)
    found = {}
    for zone, seen in zones.items():
        other = Seen(episodes - seen.episodes, seconds - seen.seconds)
        chance = min(1.0, number * _chance(seen, other))
        found[zone] = ZoneRate(zone, seen, p_values[zone], holm[zone], enough(control, seen, number), other, chance)
    return found


def _chance(seen: Seen, other: Seen) -> float:
    return more_often(seen.episodes, seen.seconds, other.episodes, other.seconds)


def enough(control: Seen, zone: Seen, number: int) -> Enough:
    """Whether this zone has been flexed enough; ask again after each episode."""
    if zone.episodes >= FEWEST:
        spent = ALPHA / max(1, number) * 2.0 ** -(zone.episodes - FEWEST + 1)
        if more_often(zone.episodes, zone.seconds, control.episodes, control.seconds) <= spent:
            return Enough.MOVES
    return Enough.QUIET if QUIET.says(zone.episodes, zone.seconds) is Enough.QUIET else Enough.GO_ON


def suspicious(control: Seen, zone: Seen) -> bool:
    """Whether a zone is worth a closer look: no claim, so nothing is corrected."""
    return zone.episodes >= FEWEST and more_often(zone.episodes, zone.seconds, control.episodes, control.seconds) <= ALPHA


def moving_zone(control: Seen, zones: Mapping[str, Seen], number: int) -> ZoneRate | None:
    """The zone that moves the fault: the least chance of those that pass a correction, with enough episodes."""
    ways = 2 if len(zones) > 1 else 1
    found = [
        (min(each.corrected, each.elsewhere_corrected), each.p_value, each.zone, each)
        for each in compare(control, zones, number).values()
        if each.seen.episodes >= FEWEST and ways * min(each.corrected, each.elsewhere_corrected) <= ALPHA
    ]
    return min(found)[-1] if found else None
