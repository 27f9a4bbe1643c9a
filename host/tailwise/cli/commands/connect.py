"""`tailwise connect`: how a known keyboard sits in the harness."""

from __future__ import annotations

import argparse

from tailwise.words import commands, learning
from tailwise.words import connecting as words

NAME = "connect"
HELP = words.CONNECT


def options(parser: argparse.ArgumentParser) -> None:
    """The board and the keyboard, or what is kept."""
    parser.add_argument("--port", metavar="URL", help=commands.PORT)
    parser.add_argument("--layout", metavar="ID", help=commands.LAYOUT)
    parser.add_argument("--lines", metavar="N", type=int, help=learning.LINES)
    parser.add_argument("--list", action="store_true", help=words.LIST)
    parser.add_argument("--forget", action="store_true", help=words.FORGET)
    parser.add_argument("--json", action="store_true", help=commands.JSON)


def run(arguments: argparse.Namespace) -> int:
    """Ask, then keep what was found."""
    from tailwise.cli.connecting import connect

    return connect(arguments)
