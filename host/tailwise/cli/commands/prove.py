"""`tailwise prove`: any board's firmware against the protocol, rule by rule."""

from __future__ import annotations

import argparse
import json
import sys

from tailwise.cli import exits
from tailwise.words import commands as words

NAME = "prove"
HELP = words.PROVE


def options(parser: argparse.ArgumentParser) -> None:
    """The board."""
    parser.add_argument("--port", metavar="URL", required=True, help=words.PORT)
    parser.add_argument("--json", action="store_true", help=words.JSON)


def run(arguments: argparse.Namespace) -> int:
    """0 where no rule is broken, 1 where one is, 2 where there is no board to prove."""
    from tailwise.conformance.report import result_lines
    from tailwise.conformance.rule import Result
    from tailwise.conformance.run import NotProvable, prove
    from tailwise.link.base import LinkRefused
    from tailwise.live.urls import open_link

    def told(result: Result) -> None:
        print("\n".join(result_lines(result)), file=sys.stderr, flush=True)

    try:
        link = open_link(arguments.port)
    except LinkRefused as error:
        print(words.refused(error.reason, error.likely, error.next_step), file=sys.stderr)
        return exits.CALL
    try:
        report = prove(link, told)
    except NotProvable as error:
        print(error, file=sys.stderr)
        return exits.CALL
    finally:
        link.close()
    if arguments.json:
        json.dump(report.to_json(), sys.stdout, indent=2, ensure_ascii=False)
        print()
    else:
        print("\n".join(report.lines()))
    return report.exit_code
