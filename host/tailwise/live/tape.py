"""The records of a run, each handed to the file first and to the judge second, so that nothing is judged unrecorded."""

from __future__ import annotations

from pathlib import Path
from threading import Lock
from typing import Any

from tailwise.judge.judge import Judge
from tailwise.observe.snapshot import Snapshot
from tailwise.recording.format import Header, Record
from tailwise.recording.writer import RecordingWriter


class Tape:
    """One run's records. `add` belongs to the run's thread; `document` and `snapshot` to any."""

    def __init__(self, header: Header, path: Path | None) -> None:
        """Create the recording where a path is given; FileExistsError where it is there already."""
        self.path = path
        self._writer = None if path is None else RecordingWriter(path, header)
        self._judge = Judge(header)
        self._lock = Lock()

    def add(self, record: Record) -> None:
        """The next record."""
        if self._writer is not None:
            self._writer.write(record)
        with self._lock:
            self._judge.feed(record)

    def snapshot(self) -> Snapshot:
        """The live map so far."""
        with self._lock:
            return self._judge.snapshot()

    def document(self) -> dict[str, Any]:
        """The findings so far."""
        with self._lock:
            return self._judge.document()

    def close(self) -> None:
        """Force the recording to the disk."""
        if self._writer is not None:
            self._writer.close()
