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
    from tailwise.judge.judge import judge_recording
    from tailwise.recording.reader import read_recording

    recording = read_recording(arguments.recording)
    for text in recording.damage:
        print(words.damage(str(arguments.recording), text), file=sys.stderr)
    document = judge_recording(recording)
    return print_document(document, to_bytes(document), as_json=arguments.json)
