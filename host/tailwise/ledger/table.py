"""CSV out: one line a run, with its keyboard; made for a spreadsheet."""

from __future__ import annotations

import csv
from typing import TextIO

from tailwise.ledger.store import Ledger

COLUMNS = (
    "label", "layout", "owner", "notes", "donor", "run", "saved", "stage", "verdict", "grade", "findings", "keys_tried",
    "keys", "presses", "tool", "firmware", "board", "fingerprint",
)  # fmt: skip


def _inert(value: str) -> str:
    """A text that a spreadsheet cannot take for a formula."""
    return "'" + value if value[:1] in ("=", "+", "-", "@", "\t", "\r") else value


def write_table(ledger: Ledger, out: TextIO) -> int:
    """Write every run; the number of lines without the heading."""
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    lines = 0
    skip = 0
    while page := ledger.keyboards(limit=500, skip=skip):
        skip += len(page)
        for keyboard in page:
            for run in ledger.runs_of(keyboard.label):
                found = "; ".join(
                    " ".join([finding["kind"], *finding["lines"], *finding["keys"][:3]]) for finding in run.document["findings"]
                )
                coverage = run.document.get("coverage", {})
                texts = (run.label, run.layout, keyboard.owner, keyboard.notes)
                writer.writerow(
                    [
                        *map(_inert, texts),
                        "yes" if keyboard.donor else "no",
                        run.run,
                        run.saved,
                        _inert(run.stage),
                        run.verdict,
                        run.grade,
                        found,
                        coverage.get("tried", ""),
                        coverage.get("keys", ""),
                        coverage.get("presses", ""),
                        run.tool,
                        run.firmware,
                        _inert(run.board),
                        run.fingerprint,
                    ]
                )
                lines += 1
    return lines
