"""What a bench does with a finished run: save it, count the insertions, and go on to the next label."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tailwise.judge.judge import header_layout
from tailwise.ledger.errors import NotFound
from tailwise.ledger.saving import run_from_recording
from tailwise.ledger.store import WORN_AT, Ledger, RunEntry
from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.recording.format import Marked
from tailwise.recording.reader import parse_recording

FIRST_LABEL = "KB-0001"


@dataclass(frozen=True)
class SavedRun:
    """A run in the ledger. matings: connector -> insertions so far; worn: those at or above WORN_AT."""

    run: int
    label: str
    verdict: str
    grade: str
    insertions: int
    matings: dict[str, int]

    @property
    def worn(self) -> tuple[str, ...]:
        """Connectors that are worth a look."""
        return tuple(name for name, count in sorted(self.matings.items()) if count >= WORN_AT)


def save_recording(ledger: Ledger, path: Path, label: str, *, same_insertion: bool = False, counts: bool = True) -> SavedRun:
    """Judge and save a recording; a run is one insertion of every tail unless `same_insertion`, a reseat mark one more.

    counts: False where no socket is worn by it (the practice bench). LedgerError where it cannot be saved (nothing is
    counted then), RecordingError, OSError.
    """
    raw = path.read_bytes()
    new, _ = run_from_recording(raw, str(path), label=label)
    number = ledger.save_run(new)
    recording = parse_recording(raw, str(path))
    marks = [record.mark for record in recording.records if isinstance(record, Marked)]
    counted = insertions(header_layout(recording.header, str(path)), marks, same_insertion=same_insertion)
    matings = {name: ledger.mate(name, times) for name, times in counted.items()} if counts else {}
    verdict, grade = str(new.document["verdict"]), str(new.document["grade"])
    return SavedRun(number, new.label, verdict, grade, max(counted.values(), default=0) if counts else 0, matings)


def insertions(layout: Layout, marks: Sequence[Mark], *, same_insertion: bool = False) -> dict[str, int]:
    """Connector -> insertions of one run: one socket of the harness for each tail, or one for a layout without tails."""
    sockets = {tail.name: f"{layout.id} {tail.name}" for tail in layout.tails or ()} or {"": layout.id}
    counted: Counter[str] = Counter({} if same_insertion else dict.fromkeys(sockets.values(), 1))
    for mark in marks:
        if mark.do is Deed.RESEAT:
            counted.update([sockets[mark.tail]] if mark.tail in sockets else list(sockets.values()))
    return dict(counted)


def next_label(label: str) -> str:
    """The label after this one: its last number counted on, as wide as it was; `-2` where it has none."""
    match = re.search(r"\d+(?!.*\d)", label)
    if match is None:
        return f"{label}-2" if label else FIRST_LABEL
    return label[: match.start()] + str(int(match[0]) + 1).zfill(len(match[0])) + label[match.end() :]


def free_label(ledger: Ledger, label: str) -> str:
    """The next label that no keyboard of the ledger has; without one, the next after the newest keyboard."""
    if not label:
        newest = ledger.keyboards(limit=1)
        label = newest[0].label if newest else ""
    wanted = next_label(label)
    while _known(ledger, wanted):
        wanted = next_label(wanted)
    return wanted


def earlier_run(ledger: Ledger, label: str, recording: bytes) -> RunEntry | None:
    """The newest run of a keyboard before the one with this recording; None where there is none."""
    try:
        runs = ledger.runs_of(label)
    except NotFound:
        return None
    fingerprint = hashlib.sha256(recording).hexdigest()
    own = next((run.run for run in runs if run.fingerprint == fingerprint), None)
    older = [run for run in runs if own is None or run.run < own]
    return older[-1] if older else None


def _known(ledger: Ledger, label: str) -> bool:
    try:
        ledger.keyboard(label)
    except NotFound:
        return False
    return True
