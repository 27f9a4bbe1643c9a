"""The result of a run on standard output: the document's bytes, or a verdict a person reads. Colour is never needed."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from typing import Any

from tailwise.cli import exits
from tailwise.words import commands as words
from tailwise.words.diagnosis import RIVALS_SHOWN, more_rivals

_COLOURS = {"sound": "32", "faulty": "31", "unproven": "33", "untestable": "35"}


def print_document(document: dict[str, Any], data: bytes, *, as_json: bool) -> int:
    """Print it; gives the exit code of its verdict."""
    if as_json:
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
    else:
        print("\n".join(readable(document, colour=sys.stdout.isatty() and not os.environ.get("NO_COLOR"))))
    return exits.OF_VERDICT[document["verdict"]]


def readable(document: dict[str, Any], *, colour: bool = False) -> Iterator[str]:
    """The verdict as lines of text."""
    symbol, word, sentence = words.VERDICTS[document["verdict"]]
    head = words.headline(symbol, word, str(document["grade"] or ""), document["layout"], document["label"])
    yield f"\x1b[1;{_COLOURS[document['verdict']]}m{head}\x1b[0m" if colour else head
    yield sentence
    for number, finding in enumerate(document["findings"], start=1):
        yield ""
        yield from _finding(number, finding)
    covered = document["coverage"]
    yield ""
    yield words.coverage(covered["tried"], covered["keys"], covered["presses"], covered["miss_bound_95"])
    if covered["untried"]:
        yield words.untried(covered["untried"])
    link = document["link"]
    yield words.link_counts(link["frames"], link["lost"], link["bad"], link["gaps"])


def _finding(number: int, finding: dict[str, Any]) -> Iterator[str]:
    percent = min(99, round(100 * finding["probability"]))
    yield words.finding_line(number, finding["kind"], finding["lines"], finding["keys"], finding["steadiness"], percent)
    place = finding["place"]
    if finding["lines"] and finding["keys"]:
        yield "   " + words.finding_keys(finding["keys"])
    if place is not None:
        yield "   " + words.place(place["line"], place["after"], place["before"])
    if finding.get("distance_mm"):
        yield "   " + words.distance(*finding["distance_mm"])
    if finding.get("zone"):
        yield "   " + words.zone(finding["zone"])
    for text in finding["evidence"]:
        yield f"   - {text}"
    for rival in finding["rivals"][:RIVALS_SHOWN]:
        yield "   " + words.rival(rival["kind"], rival["lines"] or rival["keys"], round(100 * rival["probability"]))
    if more := more_rivals(len(finding["rivals"]) - RIVALS_SHOWN):
        yield "   " + more
    if finding["next_step"]:
        yield "   " + words.next_step(finding["next_step"])
