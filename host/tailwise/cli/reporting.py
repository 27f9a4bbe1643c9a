"""Writes what `tailwise report` was asked for, never over a recording it reads."""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tailwise.cli import exits
from tailwise.judge.document import to_bytes
from tailwise.judge.judge import Judge, fed_judge
from tailwise.recording.reader import parse_recording
from tailwise.report.beforeafter import before_and_after
from tailwise.report.facts import gather
from tailwise.report.page import Photo, build_page
from tailwise.report.photos import photo_data_url
from tailwise.report.texts import keys_table, label_text, listing
from tailwise.verdict.rubric import Rubric, read_rubric
from tailwise.words import commands as words
from tailwise.words import reportcli


@dataclass(frozen=True)
class _Source:
    raw: bytes
    judge: Judge
    document: dict[str, Any]
    created: str


def write_reports(arguments: argparse.Namespace) -> int:
    """The page and every further file that was named; gives the exit code."""
    outputs = [arguments.output, arguments.markdown, arguments.csv, arguments.sticker, arguments.json]
    sources = [arguments.recording, arguments.before, *(_photo_path(each) for each in arguments.photo)]
    for output in outputs:
        if output is not None and any(source is not None and _same(output, source) for source in sources):
            print(words.same_file(str(output)), file=sys.stderr)
            return exits.CALL
    rubric = None if arguments.rubric is None else read_rubric(arguments.rubric)
    now = _judged(arguments.recording, rubric)
    document = now.document
    facts = gather(now.judge.observations(), document, now.raw, now.created, now.judge.grade_reason)
    earlier = None
    if arguments.before is not None:
        before = _judged(arguments.before, rubric)
        if before.judge.layout.id != now.judge.layout.id:
            print(reportcli.OTHER_LAYOUT, file=sys.stderr)
        earlier = before_and_after(before.document, before.created, document)
    photos = [Photo(photo_data_url(_photo_path(each)), _caption(each)) for each in arguments.photo]
    texts = (
        (arguments.output, build_page(facts, photos, earlier)),
        (arguments.markdown, listing(facts)),
        (arguments.csv, keys_table(facts)),
        (arguments.sticker, label_text(facts) + "\n"),
    )
    for path, text in texts:
        if path is not None:
            path.write_text(text, encoding="utf-8", newline="\n")
    if arguments.json is not None:
        arguments.json.write_bytes(to_bytes(document))
    return 0


def _judged(path: Path, rubric: Rubric | None) -> _Source:
    raw = path.read_bytes()
    recording = parse_recording(raw, str(path))
    judge = fed_judge(recording, rubric=rubric, file=str(path))
    document = judge.document()
    for text in (*recording.damage, *judge.notes):
        print(words.damage(str(path), text), file=sys.stderr)
    return _Source(raw, judge, document, recording.header.created)


def _photo_path(given: str) -> Path:
    return Path(given) if Path(given).exists() else Path(given.partition("=")[0])


def _caption(given: str) -> str:
    return "" if Path(given).exists() else given.partition("=")[2]


def _same(output: Path, source: Path) -> bool:
    return output.exists() and source.exists() and output.samefile(source)
