"""One self-contained HTML page: no scripts, nothing fetched; everything from outside is escaped by the template engine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from tailwise.report.drawing import histogram, key_map, route_drawing
from tailwise.report.facts import ReportFacts, coverage_sentences, place_sentences, summary
from tailwise.words import report as words
from tailwise.words.diagnosis import RIVALS_SHOWN, more_rivals


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo as a data URL with its caption."""

    data_url: str
    caption: str


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """The earlier run of the same keyboard, in the words of a comparison."""

    date: str
    verdict: str
    gone: tuple[str, ...]
    new: tuple[str, ...]
    same: tuple[str, ...]


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("tailwise.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _finding(facts: ReportFacts, finding: dict[str, Any]) -> dict[str, Any]:
    rivals = [
        {"name": words.KIND.get(rival["kind"], rival["kind"]), "about": about(rival), "sure": f"{rival['probability']:.0%}"}
        for rival in finding["rivals"][:RIVALS_SHOWN]
    ]
    return {
        "name": words.KIND.get(finding["kind"], finding["kind"]),
        "kind": finding["kind"],
        "about": about(finding),
        "sure": f"{words.sureness(finding['probability'])} ({min(0.99, finding['probability']):.0%})",
        "steady": finding["steadiness"],
        "place": place_sentences(finding),
        "drawing": Markup(route_drawing(facts.layout, finding)),
        "evidence": finding["evidence"],
        "rivals": rivals,
        "more_rivals": more_rivals(len(finding["rivals"]) - RIVALS_SHOWN),
        "next_step": finding["next_step"],
    }


def about(finding: dict[str, Any]) -> str:
    """The lines and keys of a finding in a few words."""
    parts = []
    if finding["lines"]:
        parts.append(("line " if len(finding["lines"]) == 1 else "lines ") + ", ".join(finding["lines"]))
    if finding["keys"]:
        parts.append(("key " if len(finding["keys"]) == 1 else "keys ") + ", ".join(finding["keys"]))
    return "; ".join(parts)


def build_page(facts: ReportFacts, photos: Sequence[Photo] = (), earlier: BeforeAfter | None = None) -> str:
    """The page as HTML text."""
    document = facts.document
    states = [
        (words.STATE_SYMBOL[state], words.STATE_WORD[state], [fact.id for fact in facts.keys.values() if fact.state == state])
        for state in words.STATE_WORD
    ]
    return (
        _environment()
        .get_template("page.html.j2")
        .render(
            label=document["label"],
            layout=facts.layout,
            date=facts.date,
            symbol=words.VERDICT_SYMBOL[document["verdict"]],
            headline=words.VERDICT_HEADLINE[document["verdict"]],
            verdict=document["verdict"],
            grade=document["grade"],
            grade_reason=facts.grade_reason,
            summary=summary(facts),
            key_map=Markup(key_map(facts)),
            states=[state for state in states if state[2]],
            histogram=Markup(histogram(facts)),
            findings=[_finding(facts, finding) for finding in document["findings"]],
            no_findings=words.NO_FINDINGS,
            coverage=coverage_sentences(facts),
            zones=facts.zones,
            earlier=earlier,
            photos=photos,
            cautions=words.CAUTIONS,
            crack=words.VISIBLE_CRACK,
            that_day=words.THAT_DAY,
            tool=document["tool"],
            fingerprint=facts.fingerprint,
            link=document["link"],
            keys=list(facts.keys.values()),
            state_word=words.STATE_WORD,
        )
    )
