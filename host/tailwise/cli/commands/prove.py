"""`tailwise prove`: any board's firmware against the protocol, rule by rule."""

from __future__ import annotations

import argparse

from tailwise.words import commands as words

NAME = "prove"
HELP = words.PROVE


def options(parser: argparse.ArgumentParser) -> None:
    """The board."""
    parser.add_argument("--port", metavar="URL", required=True, help=words.PORT)


def run(arguments: argparse.Namespace) -> int:
    """Prove it."""
    from tailwise.conformance.run import prove

    return prove(arguments.port)
