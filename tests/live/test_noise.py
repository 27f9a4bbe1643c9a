"""A line that flips, drops and doubles bytes both ways: the run always ends in order, whatever it makes of it."""

from __future__ import annotations

from random import Random

import pytest

from tailwise.live.events import Finished
from tailwise.live.run import Run
from tests.live.fake_board import FakeBoard, FakeLink
from tests.live.helpers import opener_of, settings


class NoisyLink(FakeLink):
    """Each byte is hit with the given chance."""

    def __init__(self, board: FakeBoard, seed: int, chance: float) -> None:
        super().__init__(board)
        self._random = Random(seed)
        self._chance = chance

    def _carry(self, data: bytes) -> bytes:
        out = bytearray()
        for byte in data:
            if self._random.random() >= self._chance:
                out.append(byte)
                continue
            match self._random.randrange(3):
                case 0:
                    out.append(byte ^ 1 << self._random.randrange(8))
                case 1:
                    out += bytes((byte, byte))
                case _:
                    pass
        return bytes(out)

    def read(self, timeout_s: float) -> bytes:
        return self._carry(super().read(timeout_s))

    def write(self, data: bytes) -> None:
        super().write(self._carry(data))


@pytest.mark.parametrize("chance", [0.001, 0.01, 0.1])
@pytest.mark.parametrize("seed", range(4))
def test_noise_never_hangs_a_run(seed: int, chance: float) -> None:
    link = NoisyLink(FakeBoard(boot_us=100_000), seed, chance)
    events = list(Run(settings(seconds=4.0, regain_s=6.0), opener_of(link)).events())
    last = events[-1]
    assert isinstance(last, Finished)
    assert last.document["findings"] == []
    assert link.now_us() < 120_000_000
    if chance < 0.01:
        assert link.now_us() < 8_000_000
