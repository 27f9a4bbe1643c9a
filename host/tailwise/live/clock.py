"""Run time from the board's clock, and an estimate of it for what happens between frames.

Theory. The board counts u32 microseconds and wraps after 71.6 minutes; two clocks differ by the signed residue of their
difference modulo 2**32, right as long as frames lie less than 35 minutes apart. Run time is 0 at the ACK of the first
START. At a later START it goes on with the board's clock where the board was only stopped in between, else from the last good
frame by the host time that the link was down. Between frames the
host's own clock runs on: marks the operator makes are dated that way, to within the delay of one frame.
"""

from __future__ import annotations

_WRAP = 1 << 32


class RunClock:
    """Follows the frames of one run; all times in microseconds."""

    def __init__(self) -> None:
        self._clock: int | None = None
        self._run_us = 0
        self._host_us = 0
        self.ticking = False

    @property
    def started(self) -> bool:
        """Whether the board has acknowledged a START."""
        return self._clock is not None

    def start(self, clock: int, host_us: int, down_us: int | None) -> int:
        """A START was acknowledged at this board clock, after down_us without a board; gives the run time.

        None: the board was only stopped, its clock ran on.
        """
        if self._clock is not None and down_us is None:
            self._run_us += max(0, self._step(clock))
        elif self._clock is not None:
            self._run_us += max(0, down_us or 0)
        self._clock, self._host_us, self.ticking = clock, host_us, True
        return self._run_us

    def frame(self, clock: int, host_us: int) -> None:
        """A frame with a board clock came; older clocks (a repeated frame) change nothing."""
        if self._clock is None or not self.ticking:
            return
        step = self._step(clock)
        if step >= 0:
            self._clock, self._run_us, self._host_us = clock, self._run_us + step, host_us

    def _step(self, clock: int) -> int:
        return (clock - (self._clock or 0) + _WRAP // 2) % _WRAP - _WRAP // 2

    def down(self, host_us: int) -> None:
        """The board is gone since host_us: run time stands at the last frame and goes on from here by the host's clock."""
        self._host_us, self.ticking = host_us, False

    def at(self, host_us: int) -> int | None:
        """Run time at a moment of the host's clock; None before the first START."""
        return None if self._clock is None else self._run_us + max(0, host_us - self._host_us)
