"""Run time: microseconds of the board since the acknowledgement of the first START.

The board's clock has 32 bits and wraps after 71.6 minutes. Differences are signed, so that two clocks less than half
that apart give the right step whichever way the wrap lies: step = ((now - last + 2^31) mod 2^32) - 2^31.
After a later START run time goes on with the clock where the board was only stopped in between (its STOP acknowledged, no
restart, no lost link); else from the last good frame plus the time the link was away.
"""

from __future__ import annotations

WRAP = 1 << 32
HALF = 1 << 31


class RunClock:
    """Turns the board's clock into run time."""

    def __init__(self) -> None:
        self._raw = 0
        self._run = 0
        self.now_us = 0
        self.started = False

    def start(self, raw: int, away_us: int | None = 0) -> int:
        """A START was acknowledged at this clock. Returns its run time.

        away_us: how long the link was away; None where the clock ran on, because the board was only stopped.
        """
        if not self.started:
            self._run = 0
        elif away_us is None:
            self._run = max(self.now_us, self.at(raw))
        else:
            self._run = self.now_us + max(0, away_us)
        self._raw = raw
        self.now_us = self._run
        self.started = True
        return self._run

    def at(self, raw: int) -> int:
        """Run time of a clock; may lie before `now_us`, never moves it."""
        return self._run + (raw - self._raw + HALF) % WRAP - HALF

    def advance(self, raw: int) -> int:
        """Run time of the clock of a good frame, which becomes the reference for the next."""
        run = self.at(raw)
        if run > self.now_us:
            self._raw, self._run, self.now_us = raw, run, run
        return run
