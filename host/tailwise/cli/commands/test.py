"""`tailwise test`: one run without the app."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tailwise.cli.values import positive
from tailwise.words import commands as words
from tailwise.words import reportcli

NAME = "test"
HELP = words.TEST


def options(parser: argparse.ArgumentParser) -> None:
    """What to run, on what, and what is known about it."""
    parser.add_argument("--port", metavar="URL", required=True, help=words.PORT)
    parser.add_argument("--layout", metavar="ID", required=True, help=words.LAYOUT)
    parser.add_argument("--label", metavar="TEXT", default="", help=words.LABEL)
    parser.add_argument("--record", metavar="FILE", type=Path, help=words.RECORD)
    parser.add_argument("--marks", metavar="FILE", type=Path, help=words.MARKS)
    parser.add_argument("--every-key-pressed", action="store_true", help=words.EVERY_KEY)
    parser.add_argument("--seconds", metavar="N", type=positive, help=words.SECONDS)
    parser.add_argument("--wiring", metavar="FILE", type=Path, help=words.WIRING)
    parser.add_argument("--rubric", metavar="FILE", type=Path, help=reportcli.RUBRIC)
    parser.add_argument("--priors", metavar="FILE", type=Path, help=reportcli.PRIORS)
    parser.add_argument("--json", action="store_true", help=words.JSON)


def run(arguments: argparse.Namespace) -> int:
    """Run it; standard output is the result, standard error the story."""
    from tailwise.cli.result import print_document
    from tailwise.cli.stopping import stopped_by_signals
    from tailwise.cli.story import tell
    from tailwise.diagnose.priors import DEFAULT_PRIORS
    from tailwise.diagnose.priors_file import read_priors
    from tailwise.layoutfile.library import find_layout
    from tailwise.live.events import Finished, Started
    from tailwise.live.marksfile import read_marks
    from tailwise.live.run import Run, RunSettings
    from tailwise.live.urls import PRACTICE, REPLAY
    from tailwise.live.wiringfile import read_wiring
    from tailwise.verdict.rubric import read_rubric

    layout = find_layout(arguments.layout)
    settings = RunSettings(
        url=arguments.port,
        layout=layout,
        label=arguments.label,
        record=arguments.record,
        marks=None if arguments.marks is None else read_marks(arguments.marks, layout),
        every_key_pressed=arguments.every_key_pressed,
        seconds=arguments.seconds,
        wiring=None if arguments.wiring is None else read_wiring(arguments.wiring, layout),
        rubric=None if arguments.rubric is None else read_rubric(arguments.rubric),
        priors=DEFAULT_PRIORS if arguments.priors is None else read_priors(arguments.priors),
        progress_hz=0 if arguments.port.startswith((PRACTICE, REPLAY)) or not sys.stderr.isatty() else 2,
    )
    by_itself = settings.seconds is not None or settings.url.startswith((PRACTICE, REPLAY))
    run = Run(settings)
    with stopped_by_signals(run.stop):
        for event in run.events():
            tell(event)
            if isinstance(event, Started) and not event.again and not by_itself:
                print(words.HOW_TO_END, file=sys.stderr, flush=True)
            if isinstance(event, Finished):
                code = print_document(event.document, event.data, as_json=arguments.json)
    return code
