"""`tailwise try`: the app on the practice bench."""

from __future__ import annotations

import argparse

from tailwise.words import commands as words

NAME = "try"
HELP = words.TRY


def options(parser: argparse.ArgumentParser) -> None:
    """The scenario, if any."""
    parser.add_argument("scenario", metavar="SCENARIO", nargs="?", default="", help=words.TRY_SCENARIO)


def run(arguments: argparse.Namespace) -> int:
    """Open the app."""
    from tailwise.cli.app import open_app

    return open_app(f"practice:{arguments.scenario}")
