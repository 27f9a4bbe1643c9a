"""The rest check: hands off for the first 2 s of board time; whatever reads closed then is not a finger.

The board's clock counts, not the host's. A key touched too early is told apart from a stuck one by opening again.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from tailwise.model.observation import Pair
from tailwise.procedure.sight import Sight

REST_US = 2_000_000
"""Length of the rest check, fixed by the recording format."""


@dataclass
class RestCheck:
    """Hands off until run time reaches 2 s."""

    at_us: int = 0
    touched: set[str] = field(default_factory=set)
    closed: frozenset[str] = frozenset()
    joined: tuple[Pair, ...] = ()
    done: bool = False

    @property
    def left_us(self) -> int:
        """Board time still to wait."""
        return max(0, REST_US - self.at_us)

    @property
    def share(self) -> float:
        """How much of it is over, 0 to 1."""
        return min(1.0, self.at_us / REST_US)

    def see(self, sight: Sight) -> None:
        """Take a look at the board; after the end nothing changes any more."""
        if self.done:
            return
        self.at_us = max(self.at_us, sight.at_us)
        self.closed = sight.down
        self.joined = sight.joined
        self.touched |= {key for key, times in sight.pressed.items() if times} | sight.down
        self.touched -= sight.stuck
        self.done = self.at_us >= REST_US
