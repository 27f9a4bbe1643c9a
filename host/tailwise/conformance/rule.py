"""What a rule is: a small function that tries a board and says what it saw, or that the board broke it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from tailwise.conformance.session import Session
from tailwise.words.conformance_rules import RULES


class Broken(Exception):
    """The board broke the rule; the text says what was seen."""


class NotApplicable(Exception):
    """The rule cannot be tried on this board or at this moment; the text says why."""


class Outcome(StrEnum):
    """What came of a rule."""

    PASS = "pass"
    FAIL = "fail"
    NOT_APPLICABLE = "not applicable"


@dataclass(frozen=True, slots=True)
class Rule:
    """`check` returns what was seen, or raises Broken or NotApplicable. The words stand in the catalogue."""

    id: str
    check: Callable[[Session], str]


@dataclass(frozen=True, slots=True)
class Result:
    """One rule tried on one board. section: of PROTOCOL.md."""

    id: str
    title: str
    section: int
    expected: str
    seen: str
    outcome: Outcome


def tried(rule: Rule, board: Session) -> Result:
    """Try one rule; errors of the link pass through."""
    try:
        seen, outcome = rule.check(board), Outcome.PASS
    except Broken as broken:
        seen, outcome = str(broken), Outcome.FAIL
    except NotApplicable as why:
        seen, outcome = str(why), Outcome.NOT_APPLICABLE
    return result(rule.id, seen, outcome)


def result(rule_id: str, seen: str, outcome: Outcome) -> Result:
    """A result with the catalogue's words."""
    says = RULES[rule_id]
    return Result(rule_id, says.title, says.section, says.expected, seen, outcome)
