"""Writes a recording's page in one go: judged, gathered, drawn, and put where pages are kept."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from typing import Any

from tailwise.judge.judge import fed_judge
from tailwise.layoutfile.own import data_folder
from tailwise.recording.reader import parse_recording
from tailwise.report.beforeafter import before_and_after
from tailwise.report.facts import gather
from tailwise.report.page import build_page


def reports_folder() -> Path:
    """Where pages are written when nobody names a file; it need not be there."""
    return data_folder() / "reports"


def write_page(raw: bytes, file: str, label: str, earlier: tuple[dict[str, Any], str] | None = None) -> Path:
    """The page of a recording's bytes, written anew where the same recording had one; its path.

    file: what problems call the recording. label: of the keyboard, where the recording has none; the page's file is called
    after it. earlier: judged document and date of a run before. RecordingError, OSError.
    """
    recording = parse_recording(raw, file)
    judge = fed_judge(recording, file=file)
    judged = judge.document()
    document = judged | {"label": judged["label"] or label}
    facts = gather(judge.observations(), document, raw, recording.header.created, judge.grade_reason)
    compared = None if earlier is None else before_and_after(earlier[0], earlier[1], document)
    page = build_page(facts, (), compared)
    stem = re.sub(r"[^\w.-]+", "_", document["label"] or document["layout"]).strip("._")[:60] or "report"
    path = reports_folder() / f"{stem}-{hashlib.sha256(raw).hexdigest()[:8]}.html"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(page, encoding="utf-8", newline="\n")
    return path
