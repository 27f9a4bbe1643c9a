"""`tailwise layouts learn`: an unknown keyboard becomes a layout file."""

from __future__ import annotations

import argparse
from pathlib import Path

from tailwise.words import commands
from tailwise.words import learning as words

NAME = "layouts learn"
HELP = words.LEARN


def options(parser: argparse.ArgumentParser) -> None:
    """The board, the drawing, and what to write."""
    parser.add_argument("--port", metavar="URL", required=True, help=commands.PORT)
    parser.add_argument("--draw", metavar="FILE", type=Path, help=words.DRAW)
    parser.add_argument("--shape", metavar="NAME", help=words.SHAPE)
    parser.add_argument("--lesson", metavar="FILE", type=Path, help=words.LESSON)
    parser.add_argument("-o", "--output", metavar="FILE.yaml", type=Path, help=words.OUT)
    parser.add_argument("--id", metavar="ID", help=words.IDENT)
    parser.add_argument("--title", metavar="TEXT", default="A learned keyboard", help=words.TITLE)
    parser.add_argument("--kind", choices=("film", "pads", "switches"), default="film", help=words.KIND)
    parser.add_argument("--lines", metavar="N", type=int, help=words.LINES)
    parser.add_argument("--specimen", metavar="TEXT", default="one specimen", help=words.SPECIMEN)
    parser.add_argument("--merge", metavar="FILE.yaml", type=Path, help=words.MERGE)
    parser.add_argument("--marks", metavar="FILE", type=Path, help=commands.MARKS)


def run(arguments: argparse.Namespace) -> int:
    """Learn, then write what was learned."""
    from tailwise.cli.learning import learn

    return learn(arguments)
