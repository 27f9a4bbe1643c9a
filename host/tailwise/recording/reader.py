"""Reads recordings, whole, torn or damaged.

A line that cannot be read is left out and named; the frames it held then are missing numbers, which is a gap and never
an open line. A last line without its line end is taken where it is a whole record; otherwise it is the tear.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tailwise.recording.format import (
    FORMAT,
    Changed,
    Ended,
    Header,
    Linked,
    LinkEvent,
    Marked,
    Received,
    Record,
    Recording,
    RecordingError,
    Sent,
    mark_from_json,
)

KINDS = ("rx", "tx", "mark", "link", "set", "end")
"""The names of which a record holds one."""


def read_recording(path: Path) -> Recording:
    """A recording from a file; RecordingError where its header cannot be used, OSError where it cannot be read."""
    return parse_recording(path.read_bytes(), str(path))


def parse_recording(raw: bytes, file: str) -> Recording:
    """A recording from its bytes; `file` is what errors call it."""
    *lines, last = raw.split(b"\n")
    torn = bool(last.strip()) and not _is_object(last)
    if last.strip() and not torn:
        lines.append(last)
    if not lines:
        raise RecordingError(file, 1, "no whole header line: not a recording, or cut inside its first line")
    header = _header(lines[0], file)
    records: list[Record] = []
    damage: list[str] = []
    ended = False
    for number, line in enumerate(lines[1:], start=2):
        if not line.strip():
            continue
        try:
            record = _record(line)
        except ValueError as error:
            damage.append(f"line {number} is damaged and was left out: {error}")
            continue
        if record is not None:
            records.append(record)
            ended = isinstance(record, Ended)
    if torn:
        damage.append(f"the file is torn in line {len(lines) + 1}; everything before it was read")
    elif not ended:
        damage.append("the file stops without its closing record; everything in it was read")
    return Recording(header, tuple(records), tuple(damage), ended and not torn)


def _is_object(line: bytes) -> bool:
    try:
        _object(line)
    except ValueError:
        return False
    return True


def _object(line: bytes) -> dict[str, Any]:
    try:
        value = json.loads(line)
    except (ValueError, RecursionError) as error:
        raise ValueError("not a JSON object") from error
    if not isinstance(value, dict):
        raise ValueError("not a JSON object")
    return value


def _header(line: bytes, file: str) -> Header:
    try:
        value = _object(line)
    except ValueError as error:
        raise RecordingError(file, 1, f"the header is {error}; expected a {FORMAT} recording") from error
    form = value.get("format")
    if form != FORMAT:
        newer = isinstance(form, str) and form.startswith("tailwise-recording/")
        hint = "; it was written by another version of tailwise, update this one" if newer else ""
        raise RecordingError(file, 1, f"format: expected {FORMAT}, found {form!r}{hint}")
    for name in ("layout", "layout_text", "label", "tool", "created"):
        if not isinstance(value.get(name, ""), str):
            raise RecordingError(file, 1, f"{name}: expected a text")
    if not value.get("layout") and not value.get("layout_text"):
        raise RecordingError(file, 1, "layout: name a layout or give its text in layout_text")
    stated = value.get("every_key_pressed", False)
    if not isinstance(stated, bool):
        raise RecordingError(file, 1, "every_key_pressed: expected true or false")
    wiring = value.get("wiring")
    if wiring is not None and not (
        isinstance(wiring, dict) and all(isinstance(number, int) and not isinstance(number, bool) for number in wiring.values())
    ):
        raise RecordingError(file, 1, "wiring: expected line names with board line numbers")
    return Header(
        layout=value.get("layout", ""),
        layout_text=value.get("layout_text", ""),
        label=value.get("label", ""),
        every_key_pressed=stated,
        wiring=wiring,
        tool=value.get("tool", ""),
        created=value.get("created", ""),
    )


def _record(line: bytes) -> Record | None:
    value = _object(line)
    t_us = value.get("t", 0)
    if isinstance(t_us, bool) or not isinstance(t_us, int | float) or not 0 <= t_us < 1e15:
        raise ValueError(f"t must be microseconds, not {t_us!r}")
    t_us = int(t_us)
    kinds = [name for name in KINDS if name in value]
    if len(kinds) > 1:
        raise ValueError(f"one record holds {' and '.join(kinds)}")
    if "rx" in value or "tx" in value:
        name = "rx" if "rx" in value else "tx"
        if not isinstance(value[name], str):
            raise ValueError(f"{name} must be bytes in hex")
        try:
            data = bytes.fromhex(value[name])
        except ValueError:
            raise ValueError(f"{name} must be bytes in hex") from None
        return Received(t_us, data) if name == "rx" else Sent(t_us, data)
    if "mark" in value:
        return Marked(t_us, mark_from_json(value["mark"]))
    if "link" in value:
        try:
            event = LinkEvent(value["link"])
        except ValueError:
            raise ValueError(f"link must be one of {', '.join(LinkEvent)}") from None
        return Linked(t_us, event, str(value.get("why", "")))
    if "set" in value:
        changes = value["set"] if isinstance(value["set"], dict) else {}
        label, stated = changes.get("label"), changes.get("every_key_pressed")
        if not isinstance(label, str | None) or not isinstance(stated, bool | None):
            raise ValueError("set must hold label (a text) or every_key_pressed (true or false)")
        return Changed(t_us, label, stated)
    if "end" in value:
        counters = value["end"] if isinstance(value["end"], dict) else {}
        return Ended(t_us, {str(name): number for name, number in counters.items() if isinstance(number, int)})
    return None
