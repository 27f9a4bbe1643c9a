"""`tailwise layouts check`: problems of a layout file, with file, line and key."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tailwise.words import commands as words

NAME = "layouts check"
HELP = words.LAYOUTS_CHECK


def options(parser: argparse.ArgumentParser) -> None:
    """The file."""
    parser.add_argument("file", metavar="FILE", type=Path)


def run(arguments: argparse.Namespace) -> int:
    """0 where it can be used, 1 where it has problems; what cannot be read raises and ends as 2."""
    from tailwise.layoutfile.nodes import FileProblems
    from tailwise.layoutfile.reader import read_layout

    try:
        layout = read_layout(arguments.file)
    except FileProblems as error:
        if all(problem.key in ("file", "yaml") for problem in error.problems):
            raise
        print(error)
        return 1
    print(words.layout_fine(str(arguments.file), len(layout.keys), len(layout.lines)), file=sys.stderr)
    return 0
