"""`prove`: every rule of the protocol against the board behind a link.

The order matters: rules that need a fresh board first, rules that read the whole log last. Takes a minute and a half of the
link's time, real on a port, virtual on the practice bench.
"""

from __future__ import annotations

from collections.abc import Callable

from tailwise.conformance import damage, identity, log, refusals, running, scans, silence, watched, watching
from tailwise.conformance.report import Report
from tailwise.conformance.rule import Outcome, Result, Rule, result, tried
from tailwise.conformance.session import Session
from tailwise.link.base import Link, LinkEnded, LinkLost
from tailwise.words import conformance as words

TRYING: tuple[Rule, ...] = (
    refusals.RULES[0],
    watching.UNCONFIGURED,
    *identity.RULES,
    running.HELD_LINE,
    *refusals.RULES[1:],
    *damage.RULES,
    *running.RULES,
    *watching.RULES,
    *silence.RULES,
)
READING: tuple[Rule, ...] = (*log.RULES, *scans.RULES, *watched.RULES)
RULES: tuple[Rule, ...] = (*TRYING, *READING)


class NotProvable(Exception):
    """There is no board to prove: no IDENTITY, the link is gone, or it is a recording. The text names the next step."""


def prove(link: Link, told: Callable[[Result], None] | None = None) -> Report:
    """Try every rule; `told` hears of each result as it is known. NotProvable where there is no board to try.

    A link that ends by itself (a practice scenario) leaves the remaining rules not applicable.
    """
    if link.replays:
        raise NotProvable(words.REPLAY)
    board = Session(link)
    try:
        if not board.open():
            raise NotProvable(words.no_identity(link.url, len(board.bad)))
    except LinkLost as lost:
        raise NotProvable(words.link_lost(link.url, str(lost))) from lost
    except LinkEnded as over:
        raise NotProvable(words.no_identity(link.url, len(board.bad))) from over
    results: list[Result] = []

    def note(one: Result) -> None:
        results.append(one)
        if told is not None:
            told(one)

    ended = ""
    gone = False
    for rule in TRYING:
        if ended:
            note(result(rule.id, ended, Outcome.NOT_APPLICABLE))
            continue
        try:
            gone = gone or not board.settle()
            note(result(rule.id, words.GONE, Outcome.FAIL) if gone else tried(rule, board))
        except LinkEnded:
            ended = words.ENDED
            note(result(rule.id, ended, Outcome.NOT_APPLICABLE))
        except LinkLost as lost:
            raise NotProvable(words.link_lost(link.url, str(lost))) from lost
    for rule in READING:
        note(tried(rule, board))
    _leave(board)
    return Report(board.identity, tuple(results), ended)


def _leave(board: Session) -> None:
    """The board idle, if it is still there."""
    try:
        board.settle()
    except (LinkEnded, LinkLost):
        return
