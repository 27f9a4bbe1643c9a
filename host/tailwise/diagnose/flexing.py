"""What flexing says of an intermittent fault: in which zone it comes and goes, how often, how long, seen for how long.

Idea: the episodes that a fault explains, counted by zone over the time in which one of its keys could have shown them, are
compared with the film left alone (`observe.zonerates`). Where it was never left alone, with everything else, and then the
zone must show them twice as fast. A fault that was not seen to open but swallowed presses is compared by presses: those of
its keys that stayed silent while a zone was flexed, of all asked for then, with those at all other times (Fisher's exact
test, one-sided, corrected for the zones; presses that one outage swallowed in a row count as one). Openings are told in
microseconds, times in seconds.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from tailwise.diagnose.episodes import STILL, Episode, Exposure
from tailwise.model.observation import AttemptResult
from tailwise.observe.rates import fisher_more
from tailwise.observe.zonerates import ALPHA, FEWEST, Seen, ZoneRate, compare, moving_zone

CONTROL_LEAST_S = 5.0
"""a control shorter than this is none (this tool's own rule)"""


@dataclass(frozen=True, slots=True)
class Flexed:
    """By zone what was seen; control: the film left alone; moving: the zone that moves the fault, None where none does."""

    control: Seen
    zones: dict[str, ZoneRate]
    moving: str | None
    longest_us: int = 0
    shortest_us: int = 0
    openings: int = 0


def flexed(episodes: Collection[Episode], keys: int, exposure: Exposure) -> Flexed:
    """What the episodes of one fault with these keys show."""
    seconds = exposure.seconds(keys)
    counts: dict[str, int] = {}
    for episode in episodes:
        counts[episode.zone] = counts.get(episode.zone, 0) + 1
    seen = {zone: Seen(counts.get(zone, 0), seconds.get(zone, 0.0)) for zone in sorted({*counts, *seconds} - {STILL})}
    control = Seen(counts.get(STILL, 0), seconds.get(STILL, 0.0))
    number = len(exposure.observations.layout.zones)
    lengths = [each.end_us - each.start_us for episode in episodes for each in episode.dropouts]
    return Flexed(
        control,
        compare(control, seen, number),
        _moving(control, seen, number) or _swallowing(keys, exposure, number),
        max(lengths, default=0),
        min(lengths, default=0),
        len(lengths),
    )


def _moving(control: Seen, seen: dict[str, Seen], number: int) -> str | None:
    if control.seconds >= CONTROL_LEAST_S:
        found = moving_zone(control, seen, number)
        return None if found is None else found.zone
    if not seen:
        return None
    best = max(seen, key=lambda zone: seen[zone].episodes)
    others = [each for zone, each in seen.items() if zone != best] + [control]
    rest = sum(each.episodes for each in others) / max(sum(each.seconds for each in others), 0.1)
    own = seen[best]
    return best if own.episodes >= FEWEST and own.episodes / max(own.seconds, 0.1) >= 2 * rest else None


def _swallowing(keys: int, exposure: Exposure, number: int) -> str | None:
    """The zone in which presses of these keys stayed silent more often than at other times; None where none did."""
    asked: dict[str, int] = {}
    silent: dict[str, int] = {}
    before: tuple[AttemptResult, str] | None = None
    for attempt in sorted(exposure.observations.attempts, key=lambda each: each.start_us):
        if not exposure.parts.mask((attempt.key,)) & keys or attempt.result not in (AttemptResult.SILENT, AttemptResult.SEEN):
            continue
        zone = exposure.zone_at(attempt.start_us)
        if (attempt.result, zone) != before or attempt.result is AttemptResult.SEEN:
            silent[zone] = silent.get(zone, 0) + (attempt.result is AttemptResult.SILENT)
            asked[zone] = asked.get(zone, 0) + 1
        before = (attempt.result, zone)
    mute, every = sum(silent.values()), sum(asked.values())
    chances = [
        (fisher_more(count, asked[zone] - count, mute - count, every - asked[zone] - mute + count), zone)
        for zone, count in silent.items()
        if zone != STILL and count >= FEWEST
    ]
    return next((zone for chance, zone in sorted(chances)[:1] if chance * max(number, 1) <= ALPHA), None)
