"""`tailwise judge`: the findings of a recording."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tailwise.words import commands as words

NAME = "judge"
HELP = words.JUDGE


def options(parser: argparse.ArgumentParser) -> None:
    """The recording."""
    parser.add_argument("recording", metavar="RECORDING", type=Path, help=words.RECORDING)
    parser.add_argument("--json", action="store_true", help=words.JSON)


def run(arguments: argparse.Namespace) -> int:
    """Judge it."""
    from tailwise.cli.result import print_document
    from tailwise.judge.document import to_bytes
    from tailwise.judge.judge import fed_judge
    from tailwise.recording.reader import read_recording

    file = str(arguments.recording)
    recording = read_recording(arguments.recording)
    judge = fed_judge(recording, file=file)
    for text in (*recording.damage, *judge.notes):
        print(words.damage(file, text), file=sys.stderr)
    document = judge.document()
    return print_document(document, to_bytes(document), as_json=arguments.json)
