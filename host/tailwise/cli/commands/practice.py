"""`tailwise practice`: scenarios of the practice bench, and the bench as a pseudo-terminal."""

from __future__ import annotations

import argparse
import json
import sys

from tailwise.cli import exits
from tailwise.words import commands as words

NAME = "practice"
HELP = words.PRACTICE


def options(parser: argparse.ArgumentParser) -> None:
    """List or serve."""
    parser.add_argument("scenario", metavar="SCENARIO", nargs="?", help=words.TRY_SCENARIO)
    parser.add_argument("--serve", action="store_true", help=words.SERVE)
    parser.add_argument("--list", action="store_true", help=words.LIST)
    parser.add_argument("--json", action="store_true", help=words.JSON)


def run(arguments: argparse.Namespace) -> int:
    """List or serve."""
    from tailwise.practice.catalogue import list_scenarios

    if arguments.list or (arguments.json and not arguments.serve):
        scenarios = list_scenarios()
        if arguments.json:
            json.dump(scenarios, sys.stdout, indent=2, ensure_ascii=False)
            print()
        else:
            for scenario in scenarios:
                print(words.scenario_line(scenario["name"], scenario["layout"], scenario["story"]))
        return 0
    if arguments.scenario is None or not arguments.serve:
        print(words.NEED_SCENARIO, file=sys.stderr)
        return exits.CALL
    from tailwise.link.base import LinkRefused
    from tailwise.practice.serve import Served

    try:
        served = Served(arguments.scenario)
    except LinkRefused as error:
        print(words.refused(error.reason, error.likely, error.next_step), file=sys.stderr)
        return exits.UNTESTABLE
    with served:
        print(served.path, flush=True)
        print(words.SERVING, file=sys.stderr)
        served.run()
    return 0
