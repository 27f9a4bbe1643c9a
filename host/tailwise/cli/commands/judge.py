"""`tailwise judge`: the findings of a recording, or of many."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from tailwise.cli import exits
from tailwise.cli.values import whole_positive
from tailwise.words import commands as words
from tailwise.words import reportcli

NAME = "judge"
HELP = words.JUDGE


def options(parser: argparse.ArgumentParser) -> None:
    """The recording."""
    parser.add_argument("recording", metavar="RECORDING", type=Path, nargs="+", help=reportcli.BATCH)
    parser.add_argument("--json", action="store_true", help=words.JSON)
    parser.add_argument("--rubric", metavar="FILE", type=Path, help=reportcli.RUBRIC)
    parser.add_argument("--priors", metavar="FILE", type=Path, help=reportcli.PRIORS)
    parser.add_argument("--after", metavar="RECORDING", type=Path, help=reportcli.AFTER)
    parser.add_argument("--between", choices=("reseated", "past_socket"), default="reseated", help=reportcli.BETWEEN)
    parser.add_argument("--cores", metavar="N", type=whole_positive, help=reportcli.CORES)


def run(arguments: argparse.Namespace) -> int:
    """Judge it; a folder or several recordings are judged as a batch, one after another one as a pair."""
    from tailwise.diagnose.priors import DEFAULT_PRIORS
    from tailwise.diagnose.priors_file import read_priors
    from tailwise.verdict.rubric import read_rubric

    rubric = None if arguments.rubric is None else read_rubric(arguments.rubric)
    priors = DEFAULT_PRIORS if arguments.priors is None else read_priors(arguments.priors)
    if len(arguments.recording) > 1 or arguments.recording[0].is_dir():
        if arguments.after is not None:
            print(reportcli.AFTER_ONE, file=sys.stderr)
            return exits.CALL
        from tailwise.cli.batch import run_batch

        return run_batch(arguments.recording, rubric, arguments.cores, priors, as_json=arguments.json)
    from tailwise.cli.result import print_document
    from tailwise.diagnose.reseat import Between
    from tailwise.judge.document import to_bytes
    from tailwise.judge.judge import Judge, fed_judge
    from tailwise.judge.pair import judge_pair
    from tailwise.recording.reader import read_recording

    def judged(path: Path) -> tuple[Judge, dict[str, Any]]:
        recording = read_recording(path)
        judge = fed_judge(recording, rubric=rubric, file=str(path), priors=priors)
        document = judge.document()
        for text in (*recording.damage, *judge.notes):
            print(words.damage(str(path), text), file=sys.stderr)
        return judge, document

    judge, document = judged(arguments.recording[0])
    if arguments.after is None:
        print(judge.grade_reason, file=sys.stderr)
    else:
        earlier, _ = judged(arguments.after)
        if earlier.layout.id != judge.layout.id:
            print(reportcli.AFTER_OTHER, file=sys.stderr)
            return exits.CALL
        both = judge_pair(earlier, judge, Between(arguments.between), rubric=rubric, priors=priors)
        document = both.document
        for what in both.not_tested:
            print(reportcli.NOT_TESTED.format(what=what), file=sys.stderr)
    return print_document(document, to_bytes(document), as_json=arguments.json)
