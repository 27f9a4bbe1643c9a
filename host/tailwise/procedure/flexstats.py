"""What the steps of a flex watch showed, counted while it runs, and whether a step has gone on long enough.

Openings closer together than 100 ms are one episode (common practice), per key and for all watched keys together. The
statistics are those of the judgement (`observe.zonerates`); the numbers here are for the operator's next move only.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from tailwise.observe.rates import Enough
from tailwise.observe.zonerates import Seen, enough, suspicious

EPISODE_US = 100_000
"""Openings closer together than this are one episode."""

ALONE = ""
"""The name of the step in which the film is left alone."""

LOGGED = 50
"""Openings kept in the log."""


@dataclass
class Tally:
    """What one step showed: board time with a key held, time without (blind), openings and episodes, those by key.

    joint: episodes in which both witnesses opened at one instant.
    """

    watched_us: int = 0
    blind_us: int = 0
    openings: int = 0
    episodes: int = 0
    by_key: dict[str, int] = field(default_factory=dict)
    joint: int = 0

    def apart(self, key: str) -> Seen:
        """Episodes of one key that no witness shared."""
        return Seen(max(0, self.by_key.get(key, 0) - self.joint), self.watched_us / 1e6)

    def together(self) -> Seen:
        """Episodes of both witnesses at one instant."""
        return Seen(self.joint, self.watched_us / 1e6)

    def seen(self, key: str | None = None) -> Seen:
        """Episodes, of one key or of all, in the seconds watched."""
        return Seen(self.episodes if key is None else self.by_key.get(key, 0), self.watched_us / 1e6)


@dataclass(frozen=True, slots=True)
class Opening:
    """One opening of the log: when, on which key, in which step, how long (None where a scan saw it)."""

    at_us: int
    key: str
    step: str
    length_us: int | None = None


@dataclass
class FlexStats:
    """Tallies of all steps and the log of the newest openings."""

    tallies: dict[str, Tally] = field(default_factory=dict)
    log: list[Opening] = field(default_factory=list)
    _last_us: dict[str, int] = field(default_factory=dict)
    _open_us: int | None = None
    _joint_us: int | None = None
    _logged_us: int = -1

    def tally(self, step: str) -> Tally:
        """The tally of a step."""
        return self.tallies.setdefault(step, Tally())

    def new_step(self) -> None:
        """Openings from now on belong to episodes of their own."""
        self._open_us = self._joint_us = None
        self._last_us.clear()

    def count(
        self, drops: list[str], at_us: int, step: str, timed: tuple[tuple[int, str, int], ...], joint: bool = False
    ) -> None:
        """Openings by key seen by now; timed: (start, key, length) of the newest, where the board times them.

        joint: some of them began on both witnesses at one instant.
        """
        if not drops:
            return
        tally = self.tally(step)
        tally.openings += len(drops)
        if self._open_us is None or at_us - self._open_us >= EPISODE_US:
            tally.episodes += 1
        self._open_us = at_us
        if joint:
            if self._joint_us is None or at_us - self._joint_us >= EPISODE_US:
                tally.joint += 1
            self._joint_us = at_us
        for key in dict.fromkeys(drops):
            last = self._last_us.get(key)
            if last is None or at_us - last >= EPISODE_US:
                tally.by_key[key] = tally.by_key.get(key, 0) + 1
            self._last_us[key] = at_us
        fresh = sorted(one for one in timed if one[0] > self._logged_us)
        if fresh:
            self._logged_us = fresh[-1][0]
            self.log += [Opening(start, key, step, length) for start, key, length in fresh]
        elif not timed:
            self.log += [Opening(at_us, key, step) for key in dict.fromkeys(drops)]
        del self.log[:-LOGGED]

    def says(self, step: str, zones: int, key: str | None = None, *, joint: bool = False) -> Enough:
        """Whether this zone was flexed enough: for one key, for both witnesses at one instant, or for any opening."""
        if step == ALONE or step not in self.tallies:
            return Enough.GO_ON
        alone, tally = self.tally(ALONE), self.tallies[step]
        if joint:
            return enough(alone.together(), tally.together(), zones)
        return enough(alone.seen(key), tally.seen(key), zones)

    def suspect(self, keys: tuple[str, ...]) -> tuple[str, str] | None:
        """The key and the zone worth a closer look: the most episodes that no other watched key shared, first."""
        alone = self.tally(ALONE) if ALONE in self.tallies else Tally()
        found = [
            (tally.apart(key).episodes, key, step)
            for step, tally in self.tallies.items()
            for key in keys
            if step != ALONE and suspicious(alone.apart(key), tally.apart(key))
        ]
        if not found:
            return None
        _, key, step = max(found)
        return key, step
