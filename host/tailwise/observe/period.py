"""The scan period, as far as board and host have told it: what decides when a reading has stood for a whole scan.

The longest of three: the worst scan and the mean between two heartbeats, (clock2 - clock1) / (scans2 - scans1), and the
period the host asked for. A board that leaves the deltas of its transitions 0 has coarse times: its readings may be up to
the longest delay of a transition older than they say, which counts as part of the scan until a delta proves otherwise.
"""

from __future__ import annotations

from tailwise.wire.messages import TRANSITION_DELAY_MAX_MS, Heartbeat, Transitions


class ScanPeriod:
    """Microseconds of one scan; 0 while nobody has told."""

    def __init__(self) -> None:
        self.asked_us = 0
        self._worst_us = 0
        self._mean_us = 0
        self._together = False
        self._deltas = False
        self._last: tuple[int, int] | None = None

    @property
    def scan_us(self) -> int:
        """The period to reckon with."""
        told = max(self._worst_us, self._mean_us, self.asked_us)
        return told + TRANSITION_DELAY_MAX_MS * 1000 if self._together and not self._deltas else told

    def restart(self) -> None:
        """Scanning began anew: the board counts its scans from 0."""
        self._last = None

    def beat(self, now_us: int, message: Heartbeat) -> None:
        """A heartbeat while scanning, at this run time."""
        self._worst_us = message.worst_scan_us
        if self._last is not None:
            then, scans = self._last
            if message.scans > scans and now_us > then:
                self._mean_us = -(-(now_us - then) // (message.scans - scans))
        self._last = (now_us, message.scans)

    def entries(self, message: Transitions) -> None:
        """Lines driven in turn cannot have been read at one time: a board that says so may leave its deltas 0."""
        self._deltas = self._deltas or any(one.delta for one in message.entries)
        self._together = self._together or len({one.driven for one in message.entries}) > 1
