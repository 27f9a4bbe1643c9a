"""`tailwise report`: one self-contained page about a recording."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tailwise.cli import exits
from tailwise.words import commands as words

NAME = "report"
HELP = words.REPORT


def options(parser: argparse.ArgumentParser) -> None:
    """Recording in, page out."""
    parser.add_argument("recording", metavar="RECORDING", type=Path, help=words.RECORDING)
    parser.add_argument("-o", "--output", metavar="FILE.html", type=Path, required=True, help=words.REPORT_FILE)


def run(arguments: argparse.Namespace) -> int:
    """Write the page; the exit code tells whether that worked, not what the verdict is."""
    from tailwise.judge.judge import fed_judge
    from tailwise.recording.reader import parse_recording
    from tailwise.report.facts import gather
    from tailwise.report.page import build_page

    source: Path = arguments.recording
    raw = source.read_bytes()
    recording = parse_recording(raw, str(source))
    if arguments.output.exists() and arguments.output.samefile(source):
        print(words.same_file(str(arguments.output)), file=sys.stderr)
        return exits.CALL
    judge = fed_judge(recording, file=str(source))
    for text in (*recording.damage, *judge.notes):
        print(words.damage(str(source), text), file=sys.stderr)
    facts = gather(judge.observations(), judge.document(), raw, recording.header.created)
    arguments.output.write_text(build_page(facts), encoding="utf-8", newline="\n")
    return 0
