"""Writes a recording line by line, so that a kill at any moment leaves everything before it readable."""

from __future__ import annotations

import json
import os
from pathlib import Path
from types import TracebackType
from typing import Any, TextIO

from tailwise.recording.format import (
    FORMAT,
    Changed,
    Ended,
    Header,
    Linked,
    Marked,
    Received,
    Record,
    Sent,
    mark_to_json,
)


def header_to_json(header: Header) -> dict[str, Any]:
    """The first line's object."""
    return {
        "format": FORMAT,
        "tool": header.tool,
        "created": header.created,
        "layout": header.layout,
        "layout_text": header.layout_text,
        "label": header.label,
        "every_key_pressed": header.every_key_pressed,
        "wiring": header.wiring,
    }


def record_to_json(record: Record) -> dict[str, Any]:
    """The object of one line."""
    out: dict[str, Any] = {"t": record.t_us}
    match record:
        case Received(data=data):
            out["rx"] = data.hex()
        case Sent(data=data):
            out["tx"] = data.hex()
        case Marked(mark=mark):
            out["mark"] = mark_to_json(mark)
        case Linked(event=event, why=why):
            out |= {"link": event.value, "why": why}
        case Changed(label=label, every_key_pressed=stated):
            changes = {"label": label, "every_key_pressed": stated}
            out["set"] = {name: value for name, value in changes.items() if value is not None}
        case Ended(counters=counters):
            out["end"] = dict(sorted(counters.items()))
    return out


class RecordingWriter:
    """An open recording. Each record is one line, handed to the system at once; closing forces it to the disk."""

    def __init__(self, path: Path, header: Header) -> None:
        """Create the file; FileExistsError where one is there already, since nothing recorded is ever lost."""
        self.path = path
        self._file: TextIO = path.open("x", encoding="utf-8", newline="\n")
        self._line(header_to_json(header))

    def _line(self, value: dict[str, Any]) -> None:
        self._file.write(json.dumps(value, ensure_ascii=True, separators=(",", ":")) + "\n")
        self._file.flush()

    def write(self, record: Record) -> None:
        """Append one record."""
        self._line(record_to_json(record))

    def close(self) -> None:
        """Force everything to the disk and close; may be called again."""
        if not self._file.closed:
            self._file.flush()
            os.fsync(self._file.fileno())
            self._file.close()

    def __enter__(self) -> RecordingWriter:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()
