"""A replay: the board's side of a recording behind the link's interface, in the recording's own time.

Bytes from the board come at the times they were received; nothing waits. What is written is taken and ignored: answers
stand in the recording, so a session matches them by the type of the command (`replays`). `take_records` hands on the
records as they pass, which makes the recording of a replay the same records again.
"""

from __future__ import annotations

from tailwise.link.base import Link, LinkEnded, LinkLost
from tailwise.model.mark import Mark
from tailwise.recording.format import Ended, Linked, LinkEvent, Marked, Received, Record, Recording
from tailwise.words import link as words


class ReplayLink(Link):
    """A recording as a board."""

    replays = True

    def __init__(self, recording: Recording, url: str = "replay:") -> None:
        self.url = url
        self.recording = recording
        self._at = 0
        self._now_us = 0
        self._passed: list[Record] = []
        self._marks: list[Mark] = []

    def now_us(self) -> int:
        """The recording's time, moved on by `read` and `reopen`."""
        return self._now_us

    def write(self, data: bytes) -> None:
        """Taken and ignored."""

    def read(self, timeout_s: float) -> bytes:
        """The next bytes of the recording, where they came before the timeout."""
        until = self._now_us + round(timeout_s * 1e6)
        while True:
            record = self._next(until)
            if record is None:
                self._now_us = until
                return b""
            if isinstance(record, Received) and record.data:
                return record.data
            if isinstance(record, Linked) and record.event is LinkEvent.LOST:
                raise LinkLost(record.why or words.REPLAY_LOST)

    def close(self) -> None:
        """Nothing to close."""

    def reopen(self) -> bool:
        """On to the moment where bytes come again; False where none do."""
        for record in self.recording.records[self._at :]:
            if isinstance(record, Received):
                return True
            self._next(record.t_us)
            if isinstance(record, Linked) and record.event is LinkEvent.REOPENED:
                return True
        return False

    def take_marks(self) -> list[Mark]:
        """The marks that passed since the last call."""
        marks, self._marks = self._marks, []
        return marks

    def take_records(self) -> list[Record]:
        """The records that passed since the last call, in their order, the closing one left out."""
        passed, self._passed = self._passed, []
        return passed

    def _next(self, until_us: int) -> Record | None:
        """The next record, passed on; None where it comes later. LinkEnded after the last."""
        records = self.recording.records
        if self._at >= len(records):
            raise LinkEnded
        record = records[self._at]
        if record.t_us > until_us and record.t_us > self._now_us:
            return None
        self._at += 1
        self._now_us = max(self._now_us, record.t_us)
        if isinstance(record, Marked):
            self._marks.append(record.mark)
        if not isinstance(record, Ended):
            self._passed.append(record)
        return record
