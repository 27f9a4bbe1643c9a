"""`tailwise report`: one self-contained page about a recording, and the same facts as text."""

from __future__ import annotations

import argparse
from pathlib import Path

from tailwise.words import commands as words
from tailwise.words import reportcli

NAME = "report"
HELP = words.REPORT


def options(parser: argparse.ArgumentParser) -> None:
    """Recording in, page out."""
    parser.add_argument("recording", metavar="RECORDING", type=Path, help=words.RECORDING)
    parser.add_argument("-o", "--output", metavar="FILE.html", type=Path, required=True, help=words.REPORT_FILE)
    parser.add_argument("--before", metavar="RECORDING", type=Path, help=reportcli.BEFORE)
    parser.add_argument("--photo", metavar="FILE", action="append", default=[], help=reportcli.PHOTO)
    parser.add_argument("--markdown", metavar="FILE.md", type=Path, help=reportcli.MARKDOWN)
    parser.add_argument("--csv", metavar="FILE.csv", type=Path, help=reportcli.TABLE)
    parser.add_argument("--sticker", metavar="FILE.txt", type=Path, help=reportcli.STICKER)
    parser.add_argument("--json", metavar="FILE.json", type=Path, help=reportcli.JSON_FILE)
    parser.add_argument("--rubric", metavar="FILE", type=Path, help=reportcli.RUBRIC)


def run(arguments: argparse.Namespace) -> int:
    """Write the page; the exit code tells whether that worked, not what the verdict is."""
    from tailwise.cli.reporting import write_reports

    return write_reports(arguments)
