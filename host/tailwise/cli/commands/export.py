"""`tailwise export`: a recording as waveforms and as a table."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tailwise.cli import exits
from tailwise.words import commands as words

NAME = "export"
HELP = words.EXPORT


def options(parser: argparse.ArgumentParser) -> None:
    """What to write."""
    parser.add_argument("recording", metavar="RECORDING", type=Path, help=words.RECORDING)
    parser.add_argument("--vcd", metavar="FILE", type=Path, help=words.VCD)
    parser.add_argument("--csv", metavar="FILE", type=Path, help=words.CSV)


def run(arguments: argparse.Namespace) -> int:
    """Write them."""
    from tailwise.recording.reader import read_recording
    from tailwise.report.csv import csv_text
    from tailwise.report.vcd import vcd_text
    from tailwise.report.waves import read_waves

    source: Path = arguments.recording
    targets = [path for path in (arguments.vcd, arguments.csv) if path is not None]
    if not targets:
        print(words.NOTHING_TO_EXPORT, file=sys.stderr)
        return exits.CALL
    recording = read_recording(source)
    for path in targets:
        if path.exists() and path.samefile(source):
            print(words.same_file(str(path)), file=sys.stderr)
            return exits.CALL
    for text in recording.damage:
        print(words.damage(str(source), text), file=sys.stderr)
    waves = read_waves(recording, str(source))
    if arguments.vcd is not None:
        arguments.vcd.write_text(vcd_text(waves), encoding="ascii", newline="\n")
    if arguments.csv is not None:
        arguments.csv.write_text(csv_text(waves), encoding="utf-8", newline="")
    return 0
