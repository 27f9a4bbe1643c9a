"""How long fingers and contacts take.

Presses last 116.25 ms on average, standard deviation 23.88 ms, and follow each other after 238.66 ms (Dhakal and others,
CHI 2018). Make bounce: mean 1557 us, longest 6200 us (J. Ganssle, A Guide to Debouncing, 2004). Break bounce: up to 3.94 ms
(public-domain oscilloscope set of seven parts, gsuberland, switch_bouncing); its mean of 700 us here is an assumption.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

PRESS_MS = 116.25
PRESS_SD_MS = 23.88
BETWEEN_MS = 238.66
MAKE_MEAN_US, MAKE_LONGEST_US = 1557.0, 6200.0
BREAK_MEAN_US, BREAK_LONGEST_US = 700.0, 3940.0
WORN_EVERY_US = 1500.0


def press_us(random: Random) -> int:
    """How long a finger keeps a key down."""
    return round(1000 * min(max(random.gauss(PRESS_MS, PRESS_SD_MS), 60.0), 220.0))


def pause_us(random: Random) -> int:
    """From one key's release to the next key's press, one finger at a time."""
    middle = BETWEEN_MS - PRESS_MS
    return round(1000 * min(max(random.gauss(middle, middle / 4), 40.0), 300.0))


def overlap_us(random: Random) -> int:
    """How long two keys are down together where they overlap: 30 ms on average, 100 ms at most (the same study)."""
    return round(min(random.expovariate(1 / 30_000), 100_000))


@dataclass(frozen=True, slots=True)
class Chatter:
    """How a contact chatters: mean and longest of make and break bounce, microseconds.

    worn: a contact that never closes cleanly; it then chatters for at least make_mean_us and break_mean_us, an opening
    every 1.5 ms or so.
    """

    make_mean_us: float = MAKE_MEAN_US
    make_longest_us: float = MAKE_LONGEST_US
    break_mean_us: float = BREAK_MEAN_US
    break_longest_us: float = BREAK_LONGEST_US
    worn: bool = False

    def make(self, random: Random) -> list[int]:
        """Offsets after the first closure at which the contact opens and closes in turn; it ends closed."""
        return self._offsets(random, self.make_mean_us, self.make_longest_us)

    def release(self, random: Random) -> list[int]:
        """Offsets after the first opening at which the contact closes and opens in turn; it ends open."""
        return self._offsets(random, self.break_mean_us, self.break_longest_us)

    def _offsets(self, random: Random, mean: float, longest: float) -> list[int]:
        if self.worn:
            length = random.uniform(mean, longest)
            reversals = 2 * max(2, round(length / WORN_EVERY_US))
        else:
            length = min(random.expovariate(1 / mean), longest)
            reversals = 2 * random.randint(0, 4)
        if not reversals or length < 10 * reversals:
            return []
        inner = sorted(random.sample(range(5, round(length)), reversals - 1))
        return [*inner, round(length)]


SOUND_CHATTER = Chatter()
