"""The records of a run, each handed to the file and then to the judge: nothing is judged that is not stored."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from threading import Lock
from typing import Any

from tailwise.diagnose.priors import DEFAULT_PRIORS, Priors
from tailwise.judge.judge import Judge
from tailwise.live.trouble import Unusable
from tailwise.observe.snapshot import Snapshot
from tailwise.recording.format import Header, Record
from tailwise.recording.writer import RecordingWriter
from tailwise.verdict.rubric import Rubric
from tailwise.words import live as words


class Tape:
    """One run's records. `add` belongs to the run's thread; `document` and `snapshot` to any."""

    def __init__(
        self, header: Header, path: Path | None, rubric: Rubric | None = None, priors: Priors = DEFAULT_PRIORS
    ) -> None:
        """Create the recording where a path is given; FileExistsError where it is there already."""
        self.path = path
        self._writer = None if path is None else _writer(path, header)
        self._rubric, self._priors = rubric, priors
        self._judge = Judge(header, rubric=rubric, priors=priors)
        self._lock = Lock()
        self._full = False
        self._early: list[Record] | None = []

    def add(self, record: Record) -> None:
        """The next record. Unusable, once, where the file takes no more: what comes after is neither stored nor judged."""
        if self._full:
            return
        if self._early is not None:
            self._early.append(record)
        if self._writer is not None:
            try:
                self._writer.write(record)
            except OSError as error:
                self._full = True
                raise Unusable(words.cannot_record(str(self.path), error.strerror or str(error))) from error
        with self._lock:
            self._judge.feed(record)

    def settle(self, header: Header | None) -> None:
        """The board is known: from now on the header stands. Where another one is given, the tape begins anew with it.

        Unusable where the file cannot be written again; it holds no scan yet.
        """
        early, self._early = self._early or [], None
        if header is None:
            return
        if self._writer is not None and self.path is not None:
            self.close()
            try:
                self.path.unlink()
                self._writer = _writer(self.path, header)
            except OSError as error:
                self._full, self._writer = True, None
                raise Unusable(words.cannot_record(str(self.path), error.strerror or str(error))) from error
        with self._lock:
            self._judge = Judge(header, rubric=self._rubric, priors=self._priors)
        for record in early:
            self.add(record)

    @property
    def notes(self) -> tuple[str, ...]:
        """What a person should know about the records themselves."""
        return (*self._judge.notes, *filter(None, [self._judge.grade_reason]))

    def snapshot(self) -> Snapshot:
        """The live map so far."""
        with self._lock:
            return self._judge.snapshot()

    def document(self) -> dict[str, Any]:
        """The findings so far; reading and recording go on while they are weighed."""
        with self._lock:
            observations = self._judge.observations()
        return self._judge.conclude(observations)

    def close(self) -> None:
        """Force the recording to the disk."""
        if self._writer is not None:
            with suppress(OSError):
                self._writer.close()


def _writer(path: Path, header: Header) -> RecordingWriter:
    """A new recording; every failure names its file, a full disk's too."""
    try:
        return RecordingWriter(path, header)
    except OSError as error:
        if error.filename is None:
            raise OSError(error.errno, error.strerror, str(path)) from error
        raise
