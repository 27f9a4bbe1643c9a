"""`tailwise try`: the app on the practice bench."""

from __future__ import annotations

import argparse

from tailwise.cli.values import positive
from tailwise.words import commands as words

NAME = "try"
HELP = words.TRY


def options(parser: argparse.ArgumentParser) -> None:
    """The scenario, if any."""
    parser.add_argument("scenario", metavar="SCENARIO", nargs="?", help=words.TRY_SCENARIO)
    parser.add_argument("--speed", metavar="N", type=positive, default=1.0, help=words.SPEED)


def run(arguments: argparse.Namespace) -> int:
    """Open the app; without a terminal run the same scenario and print its verdict."""
    from tailwise.cli.app import has_terminal, open_app
    from tailwise.practice.catalogue import DEFAULT_SCENARIO, find_scenario

    scenario = DEFAULT_SCENARIO if arguments.scenario is None else arguments.scenario
    layout = find_scenario(scenario).setup.layout
    if not has_terminal():
        from tailwise.cli.trial import run_trial

        return run_trial(scenario, layout)
    return open_app(scenario, arguments.speed)
