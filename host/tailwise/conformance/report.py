"""What `prove` found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tailwise.conformance.rule import Outcome, Result
from tailwise.conformance.spoken import who
from tailwise.wire.messages import Identity
from tailwise.words import conformance as words

FORMAT = "tailwise-conformance/1"


@dataclass(frozen=True)
class Report:
    """Every rule's result in the order tried. ended: why the rest could not be tried, else empty."""

    identity: Identity
    results: tuple[Result, ...]
    ended: str = ""

    def of(self, outcome: Outcome) -> tuple[Result, ...]:
        """The results with one outcome."""
        return tuple(result for result in self.results if result.outcome == outcome)

    @property
    def passed(self) -> bool:
        """Whether no rule failed."""
        return not self.of(Outcome.FAIL)

    @property
    def exit_code(self) -> int:
        """0: no rule failed; 1: at least one did."""
        return 0 if self.passed else 1

    def lines(self) -> list[str]:
        """The report for people."""
        out = [who(self.identity)]
        for result in self.results:
            out += result_lines(result)
        counts = [len(self.of(outcome)) for outcome in (Outcome.PASS, Outcome.FAIL, Outcome.NOT_APPLICABLE)]
        return [*out, *([self.ended] if self.ended else []), words.summary(*counts)]

    def to_json(self) -> dict[str, Any]:
        """The report as one JSON object."""
        who = self.identity
        return {
            "format": FORMAT,
            "board": who.board,
            "unique_id": who.unique_id.hex(),
            "firmware": f"{who.firmware_major}.{who.firmware_minor}.{who.firmware_patch}",
            "passed": self.passed,
            "rules": [
                {
                    "id": result.id,
                    "title": result.title,
                    "section": result.section,
                    "outcome": result.outcome.value,
                    "expected": result.expected,
                    "seen": result.seen,
                }
                for result in self.results
            ],
        }


def result_lines(result: Result) -> list[str]:
    """One rule for people: one line, and for a broken one what was expected and seen."""
    if result.outcome == Outcome.PASS:
        return [words.line(result.outcome.value, result.id, result.title)]
    if result.outcome == Outcome.NOT_APPLICABLE:
        return [words.line(result.outcome.value, result.id, f"{result.title} ({result.seen})")]
    head = words.line(result.outcome.value, result.id, result.title)
    return [head, *words.broken(result.expected, result.seen, result.section)]
