"""The real firmware image with a practice scenario's membrane on its pins: the same changes, marks and end."""

from __future__ import annotations

from collections import deque

from tailwise.link.base import LinkEnded
from tailwise.model.mark import Mark
from tailwise.practice.bench import Bench, Setup
from tailwise.practice.lineloads import line_loads
from tailwise.wire.messages import Ack, Start
from tests.simboard.board import SimBoard


class ScenarioBoard(SimBoard):
    """A simulated board on which a setup's operator and membrane act from the acknowledged START on.

    Keyboards with diodes cannot be put on its pins: ValueError.
    """

    def __init__(self, setup: Setup) -> None:
        super().__init__()
        bench = Bench(setup)
        self._loads = list(line_loads(setup))
        if any(load.puller is not None for load in self._loads):
            self.close()
            raise ValueError(f"{setup.layout.id} has diodes: the simulated board joins lines by resistances only")
        self._end_after_us = bench.performance.end_us
        self._coming = deque(bench.performance.marks)
        self._zero_us: int | None = None
        self._looked = 0
        for load in self._loads:
            if load.at_us < 0:
                self.contact(0, load.a, load.b, load.ohm)
        for foreign in bench.membrane.foreign:
            self.force(0, setup.wired().board_line[foreign.line], foreign.volts, foreign.ohm)

    def read(self, timeout_s: float) -> bytes:
        """As the board's; LinkEnded when the operator has finished."""
        if self._zero_us is not None and self.now_us() >= self._zero_us + self._end_after_us:
            raise LinkEnded("the scenario is over")
        data = super().read(timeout_s)
        if self._zero_us is None:
            for _, frame in self.arrivals[self._looked :]:
                message = frame.message()
                if isinstance(message, Ack) and message.command_type == Start.TYPE:
                    self._begin(self.now_us())
            self._looked = len(self.arrivals)
        return data

    def take_marks(self) -> list[Mark]:
        """Marks whose time has come."""
        marks: list[Mark] = []
        while self._zero_us is not None and self._coming and self._coming[0].at_us <= self.now_us() - self._zero_us:
            marks.append(self._coming.popleft())
        return marks

    def _begin(self, zero_us: int) -> None:
        self._zero_us = zero_us
        for load in self._loads:
            if load.at_us >= 0:
                self.contact(zero_us + load.at_us, load.a, load.b, load.ohm)
