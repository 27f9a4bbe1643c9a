"""Zones compared with the film left alone: where do the episodes fall, and when has enough been seen?

Theory. In each zone k episodes fell in t seconds of flexing, c in s seconds of control. With one rate in both, k of k + c is
binomial with share t / (t + s) (`rates.more_often`); Holm's correction over the zones of the layout keeps the chance of any
false accusation below alpha.

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
    """One zone against the control: p_value as it is, corrected for the number of zones, and whether to go on."""

    zone: str
    seen: Seen
    p_value: float
    corrected: float
    enough: Enough


def compare(control: Seen, zones: Mapping[str, Seen], number: int) -> dict[str, ZoneRate]:
    """Every flexed zone against the control; number: the zones of the layout, flexed or not."""
    number = max(number, len(zones), 1)
    p_values = {
        zone: more_often(seen.episodes, seen.seconds, control.episodes, control.seconds) for zone, seen in zones.items()
    }
    unflexed = {f"\0{place}": 1.0 for place in range(number - len(zones))}
    holm = corrected({**p_values, **unflexed})
    return {
        zone: ZoneRate(zone, seen, p_values[zone], holm[zone], enough(control, seen, number)) for zone, seen in zones.items()
    }


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
    """The zone that moves the fault: the least p-value of those that pass the correction, with enough episodes."""
    found = [each for each in compare(control, zones, number).values() if each.corrected <= ALPHA]
    found = [each for each in found if each.seen.episodes >= FEWEST]
    return min(found, key=lambda each: (each.p_value, each.zone)) if found else None
