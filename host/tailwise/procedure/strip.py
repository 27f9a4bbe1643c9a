"""The strip chart of the watched line: time cut into cells, newest last, each cell the worst that happened in it.

A dropout of a few microseconds still fills its cell, so that it is never thinner than one.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from enum import IntEnum

CELL_US = 250_000
"""One cell of the chart, board time."""

KEPT_CELLS = 480
"""Two minutes."""


class Trace(IntEnum):
    """What a cell shows; the larger one wins."""

    UNWATCHED = 0
    WHOLE = 1
    OPEN = 2
    LOST = 3
    DROP = 4


@dataclass
class Strip:
    """The last two minutes of one line."""

    cells: deque[Trace] = field(default_factory=lambda: deque(maxlen=KEPT_CELLS))
    _cell: int | None = None

    def add(self, at_us: int, trace: Trace) -> None:
        """What was seen at this run time; cells nobody looked into stay unwatched."""
        cell = at_us // CELL_US
        if self._cell is None or cell > self._cell:
            missed = 0 if self._cell is None else min(cell - self._cell - 1, KEPT_CELLS)
            self.cells.extend([Trace.UNWATCHED] * missed)
            self.cells.append(trace)
            self._cell = cell
        elif self.cells:
            self.cells[-1] = max(self.cells[-1], trace)

    def newest(self, wide: int) -> tuple[Trace, ...]:
        """The newest cells, oldest first, filled with unwatched ones on the left."""
        shown = list(self.cells)[-wide:] if wide > 0 else []
        return tuple([Trace.UNWATCHED] * (max(0, wide) - len(shown)) + shown)
