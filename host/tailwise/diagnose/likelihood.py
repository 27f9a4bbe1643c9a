"""How well an intermittent fault explains what came and went.

Idea: while one of its keys is held, an intermittent fault shows episodes at an unknown rate. With a gamma prior on the
rate (shape 0.5, one second of prior exposure) the chance density of n episodes in T seconds is

    G(a + n) / G(a) * b**a / (b + T)**(a + n)          per second**n, for each zone of its own

so a fault that had much time to show and did not is less likely than one that had little. Where zones were flexed, a fault
may as well sit in one of them: then only that zone has a rate of its own, and elsewhere there is no more than what a finger
does; both ways are equally common beforehand. Whole presses that stayed silent
are trials in time: the fault stays as it is or switches between two of them, with an unknown chance of switching under
Beta(1, 4), since outages that swallow a press outlast it (a reseated tail may leave it in either state), or each press
fails by itself with an unknown chance, all chances alike; both ways are equally common beforehand. A finger makes an
opening by itself with the chance of the priors per press, anywhere in it. Logarithms are natural.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from tailwise.diagnose.episodes import FINGER_US, STILL, Episode
from tailwise.diagnose.hypotheses import Hypothesis
from tailwise.diagnose.priors import Priors

SHAPE = 0.5
EXPOSURE_S = 1.0
SWITCH = (1.0, 4.0)
TWO_FINGERS_AT_ONCE = 1e-4
SHORTEST_PRESS_S = 0.1
LONG_HOLD_S = 20.0
"""from here on a finger tires: it wobbles at a rate of its own"""
FURTHER = 0.5
MOST_FURTHER = 10
"""a tired finger that lifts makes one opening; each further one in the same episode is half as common (common practice). In an
ordinary press openings come in bursts by themselves: contacts chatter as they close and let go."""


def shows(hypothesis: Hypothesis, episode: Episode) -> bool:
    """True where every opening took only keys of the fault, left none of its held keys closed and none of its lines joined."""
    if episode.lost & ~hypothesis.silences or episode.kept & hypothesis.silences:
        return False
    return not episode.whole.intersection(hypothesis.fault.lines)


def log_episodes(counts: Mapping[str, int], seconds: Mapping[str, float], wobble_per_s: float) -> float:
    """Log density of these numbers of episodes in these exposures by zone: at a rate of its own in each, or in one alone."""
    zones = sorted(set(counts) | set(seconds))
    own = {zone: _log_rate_unknown(counts.get(zone, 0), seconds.get(zone, 0.0)) for zone in zones}
    spread = math.fsum(own.values())
    flexed = [zone for zone in zones if zone != STILL]
    if not flexed:
        return spread
    quiet = {zone: _log_rate_known(counts.get(zone, 0), seconds.get(zone, 0.0), wobble_per_s) for zone in zones}
    rest = math.fsum(quiet.values())
    single = [rest - quiet[zone] + own[zone] - math.log(len(flexed)) for zone in flexed]
    return _log_mean([spread, _log_sum(single)])


def _log_rate_unknown(number: int, time_s: float) -> float:
    chance = math.lgamma(SHAPE + number) - math.lgamma(SHAPE)
    return chance + SHAPE * math.log(EXPOSURE_S) - (SHAPE + number) * math.log(EXPOSURE_S + time_s)


def _log_rate_known(number: int, time_s: float, rate: float) -> float:
    return number * math.log(rate) - rate * time_s


def _log_sum(logs: Sequence[float]) -> float:
    top = max(logs)
    return top + math.log(math.fsum(math.exp(each - top) for each in logs))


def _log_mean(logs: Sequence[float]) -> float:
    return _log_sum(logs) - math.log(len(logs))


def log_trials(stretches: Sequence[Sequence[bool]]) -> float:
    """Log chance of runs of trials, True for seen, under one fault that comes and goes; each stretch begins anew."""
    kept = [each for each in stretches if each]
    if not kept:
        return 0.0
    switches = sum(1 for each in kept for one, two in pairwise(each) if one != two)
    stays = sum(len(each) - 1 for each in kept) - switches
    low, high = SWITCH
    lasting = len(kept) * math.log(0.5) + _log_beta(low + switches, high + stays) - _log_beta(low, high)
    seen = sum(sum(each) for each in kept)
    fleeting = _log_beta(1.0 + seen, 1.0 + sum(map(len, kept)) - seen)
    return _log_mean([lasting, fleeting])


def log_finger(episode: Episode, held_s: float, priors: Priors) -> float:
    """Log density (per second) of an episode that the finger makes by itself somewhere in a press of this length."""
    slip = priors.slip_long if episode.longest_us >= FINGER_US else priors.slip_short
    rate = slip / max(held_s, SHORTEST_PRESS_S)
    further = 0.0
    if held_s >= LONG_HOLD_S:
        rate = max(rate, priors.wobble_per_s)
        further = min(len(episode.dropouts) - 1, MOST_FURTHER) * math.log(FURTHER)
    return math.log(rate) + (episode.together - 1) * math.log(TWO_FINGERS_AT_ONCE) + further


def _log_beta(one: float, two: float) -> float:
    return math.lgamma(one) + math.lgamma(two) - math.lgamma(one + two)
