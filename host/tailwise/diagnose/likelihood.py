"""How well an intermittent fault explains what came and went.

Idea: while one of its keys is held, an intermittent fault shows episodes at an unknown rate. With a gamma prior on the
rate (shape 0.5, one second of prior exposure) the chance density of n episodes in T seconds is

    G(a + n) / G(a) * b**a / (b + T)**(a + n)          per second**n, for each zone of its own

so a fault that had much time to show and did not is less likely than one that had little. Whole presses that stayed silent
are trials in time: the fault stays as it is or switches between two of them, with an unknown chance of switching under
Beta(1, 4), since outages that swallow a press outlast it; a reseated
tail may leave it in either state. A finger makes an opening by itself with the chance of the priors
per press, anywhere in it.
Logarithms are natural.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from tailwise.diagnose.episodes import FINGER_US, Episode
from tailwise.diagnose.hypotheses import Hypothesis
from tailwise.diagnose.priors import Priors

SHAPE = 0.5
EXPOSURE_S = 1.0
SWITCH = (1.0, 4.0)
TWO_FINGERS_AT_ONCE = 1e-4
SHORTEST_PRESS_S = 0.1
LONG_HOLD_S = 5.0
"""from here on a finger tires: it wobbles at a rate of its own"""
UNBRIDGED = 0.1
"""two held keys of one line lost at once, and their partners apart: hardly a fault before the first of them"""


def shows(hypothesis: Hypothesis, episode: Episode) -> bool:
    """True where every opening of an episode took only keys of the fault and left none of its held keys closed."""
    return not episode.lost & ~hypothesis.silences and not episode.kept & hypothesis.silences


def log_episodes(counts: Mapping[str, int], seconds: Mapping[str, float]) -> float:
    """Log density of these numbers of episodes in these exposures, by zone."""
    total = 0.0
    for zone in sorted(set(counts) | set(seconds)):
        number, time = counts.get(zone, 0), seconds.get(zone, 0.0)
        total += math.lgamma(SHAPE + number) - math.lgamma(SHAPE)
        total += SHAPE * math.log(EXPOSURE_S) - (SHAPE + number) * math.log(EXPOSURE_S + time)
    return total


def log_trials(stretches: Sequence[Sequence[bool]]) -> float:
    """Log chance of runs of trials, True for seen, under one fault that comes and goes; each stretch begins anew."""
    kept = [each for each in stretches if each]
    if not kept:
        return 0.0
    switches = sum(1 for each in kept for one, two in pairwise(each) if one != two)
    stays = sum(len(each) - 1 for each in kept) - switches
    low, high = SWITCH
    return len(kept) * math.log(0.5) + _log_beta(low + switches, high + stays) - _log_beta(low, high)


def log_finger(episode: Episode, held_s: float, priors: Priors) -> float:
    """Log density (per second) of an episode that the finger makes by itself somewhere in a press of this length."""
    slip = priors.slip_long if episode.longest_us >= FINGER_US else priors.slip_short
    rate = slip / max(held_s, SHORTEST_PRESS_S)
    if held_s >= LONG_HOLD_S:
        rate = max(rate, priors.wobble_per_s)
    return math.log(rate) + (episode.together - 1) * math.log(TWO_FINGERS_AT_ONCE)


def _log_beta(one: float, two: float) -> float:
    return math.lgamma(one) + math.lgamma(two) - math.lgamma(one + two)
