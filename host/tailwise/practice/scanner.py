"""When the virtual board samples, and what it then sees change.

Theory. The driven lines take turns, one step each; a scan starts every `period`. Driven line i of the scan that starts at s
is sampled at s + (i + 1) * step. Between two changes of the membrane the readings stand still, so only the first sample
of each driven line after a change can differ: the scanner works those out and nothing else, and a minute of board time
costs no more than the changes in it. A reading that came and went between two samples of its line is never seen, as on
a real board. Times are microseconds of the bench; bitmaps are board lines, line 0 in bit 0.
"""

from __future__ import annotations

from dataclasses import dataclass

from tailwise.practice.membrane import Readings
from tailwise.wire.messages import LineRole

STEP_OVERHEAD_NS = 8000
"""Part of each step that is not settling: driving, reading, comparing."""
OVERLOAD_LINES = 4
_LATEST_NOTICE_US = 1500


@dataclass(frozen=True, slots=True)
class Sampled:
    """One reading that changed, at the time it was sampled."""

    at_us: int
    driven: int
    sensed: int
    closed: bool


class Scanner:
    """One run of scanning, from its start on."""

    def __init__(self, start_us: int, roles: bytes, period_us: int, settle_ns: int, readings: Readings) -> None:
        both = LineRole.BOTH
        self.driven = [line for line, role in enumerate(roles) if role in (LineRole.DRIVEN, both)]
        self._sensed = sum(1 << line for line, role in enumerate(roles) if role in (LineRole.SENSED, both))
        self._place = {line: index for index, line in enumerate(self.driven)}
        self.step_us = max(1, -(-(settle_ns + STEP_OVERHEAD_NS) // 1000))
        self.scan_us = max(1, len(self.driven)) * self.step_us
        self.period_us = max(period_us, self.scan_us)
        self.start_us = start_us
        self.rows = dict.fromkeys(self.driven, 0)
        self.overloads = 0
        self._now_us = start_us
        self._readings: Readings = {}
        self._unsampled: dict[int, int] = {}
        self.change(start_us, readings)

    def next_sample_us(self, line: int, after_us: int) -> int:
        """The first time at or after `after_us` at which a driven line is sampled."""
        offset = self.start_us + (self._place[line] + 1) * self.step_us
        return offset if after_us <= offset else offset + -(-(after_us - offset) // self.period_us) * self.period_us

    def scans_until(self, at_us: int) -> int:
        """Whole scans done by then."""
        return max(0, (at_us - self.start_us - self.scan_us) // self.period_us + 1)

    def scan_end_us(self, scans: int) -> int:
        """When that many scans are done."""
        return self.start_us + max(0, scans - 1) * self.period_us + self.scan_us

    @property
    def due_us(self) -> int | None:
        """When `sample` should be called next, so that no change is reported late."""
        if not self._unsampled:
            return None
        return min(max(self._unsampled.values()), min(self._unsampled.values()) + _LATEST_NOTICE_US)

    def change(self, at_us: int, readings: Readings) -> list[Sampled]:
        """The membrane reads otherwise from now on; what was sampled before comes back."""
        seen = self.sample(at_us)
        self._readings = readings
        for line in self.driven:
            if readings.get(line, 0) & self._sensed != self.rows[line]:
                self._unsampled[line] = self.next_sample_us(line, at_us + 1)
            else:
                self._unsampled.pop(line, None)
        return seen

    def sample(self, until_us: int) -> list[Sampled]:
        """Changes sampled up to and at this time, in the order sampled."""
        self._count_overloads(until_us)
        seen: list[Sampled] = []
        for at_us, line in sorted((at, line) for line, at in self._unsampled.items() if at <= until_us):
            del self._unsampled[line]
            row = self._readings.get(line, 0) & self._sensed
            differing = row ^ self.rows[line]
            self.rows[line] = row
            seen += [
                Sampled(at_us, line, sensed, bool(row >> sensed & 1))
                for sensed in range(differing.bit_length())
                if differing >> sensed & 1
            ]
        return seen

    def _count_overloads(self, until_us: int) -> None:
        if until_us <= self._now_us:
            return
        heavy = sum(1 for row in self.rows.values() if row.bit_count() > OVERLOAD_LINES)
        if heavy:
            self.overloads += heavy * (self.scans_until(until_us) - self.scans_until(self._now_us))
        self._now_us = until_us
