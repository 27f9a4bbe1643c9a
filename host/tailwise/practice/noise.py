"""What can go wrong between board and host: frames lost, damaged or doubled, from a seed."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random


@dataclass(frozen=True, slots=True)
class Noise:
    """Chances per frame of the board. lose_frames, damage_frames: frames counted from 0 that are hit for certain.

    garbage_bytes: random bytes that come first after opening, as many adapters send them.
    """

    lost: float = 0.0
    damaged: float = 0.0
    doubled: float = 0.0
    lose_frames: frozenset[int] = frozenset()
    damage_frames: frozenset[int] = frozenset()
    garbage_bytes: int = 0


QUIET = Noise()
"""Every frame arrives as it left."""


@dataclass
class NoisyLine:
    """Applies noise to frames as they leave the board."""

    noise: Noise
    random: Random
    _count: int = field(default=0, init=False)

    def opening(self) -> bytes:
        """Garbage that comes before anything else, ended by a 00."""
        if not self.noise.garbage_bytes:
            return b""
        return self.random.randbytes(self.noise.garbage_bytes) + b"\0"

    def carry(self, frame: bytes) -> bytes:
        """What of a frame arrives."""
        number, self._count = self._count, self._count + 1
        noise = self.noise
        roll = self.random.random()
        if number in noise.lose_frames or roll < noise.lost:
            return b""
        if number in noise.damage_frames or roll < noise.lost + noise.damaged:
            at = self.random.randrange(len(frame) - 1)
            return frame[:at] + bytes([frame[at] ^ 1 << self.random.randrange(8)]) + frame[at + 1 :]
        return frame * 2 if roll < noise.lost + noise.damaged + noise.doubled else frame
