"""The text of the verdict page, made from a findings document: pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from textwrap import wrap
from typing import Any

from rich.style import Style
from rich.text import Text

from tailwise.model.layout import Layout
from tailwise.tui.theme import AMBER, LEAD, PATINA, RUST
from tailwise.words import verdictpage as words
from tailwise.words.diagnosis import RIVALS_SHOWN, more_rivals

LABEL_WIDE = 11
"""Columns for the label at the left."""

_COLOURS = {"sound": PATINA, "faulty": RUST, "unproven": AMBER, "untestable": AMBER}


def verdict_page(document: Mapping[str, Any], layout: Layout, width: int, *, plain: bool) -> Text:
    """The whole page for a width in cells; plain: no colour."""
    sign, word, meaning = words.VERDICTS[document["verdict"]]
    colour = None if plain else _COLOURS[document["verdict"]]
    text = Text()
    text.append(f" {sign} {word} ", Style(bold=True, reverse=True, color=colour))
    text.append(f"  {layout.title}", Style(bold=True))
    if document["label"]:
        text.append(f"  ({document['label']})")
    text.append("\n")
    _paragraph(text, meaning if not document["grade"] else words.graded(meaning, str(document["grade"])), width, "")
    for number, finding in enumerate(document["findings"], start=1):
        text.append("\n")
        _finding(text, number, finding, width, plain)
    if not document["findings"]:
        text.append("\n")
        text.append(words.NO_FINDINGS + "\n")
    text.append("\n")
    _coverage(text, document, width)
    return text


def _finding(text: Text, number: int, finding: Mapping[str, Any], width: int, plain: bool) -> None:
    about = words.names(finding["lines"], finding["keys"])
    head = f"{number}  {words.KINDS.get(finding['kind'], finding['kind'])}: {about}"
    for row in wrap(head, width) or [head]:
        text.append(row + "\n", Style(bold=True, color=None if plain else RUST))
    _entry(
        text, words.LABELS["sure"], f"{words.sure(finding['probability'])}; {words.steadiness(finding['steadiness'])}", width
    )
    where = [words.place(finding["place"])]
    if finding.get("distance_mm"):
        where.append(words.distance(finding["distance_mm"]))
    _entry(text, words.LABELS["where"], ", ".join(part for part in where if part), width)
    _entry(text, words.LABELS["zone"], finding.get("zone") or "", width)
    if finding["lines"]:
        _entry(text, words.LABELS["keys"], ", ".join(finding["keys"]), width)
    _entry(text, words.LABELS["next"], finding["next_step"], width, Style(bold=True))
    _entries(text, words.LABELS["why"], finding["evidence"], width)
    rivals = [
        words.rival(rival["kind"], words.names(rival["lines"], rival["keys"]), rival["probability"])
        for rival in finding["rivals"][:RIVALS_SHOWN]
    ]
    rivals += filter(None, [more_rivals(len(finding["rivals"]) - RIVALS_SHOWN)])
    _entries(text, words.LABELS["rivals"], rivals, width)


def _coverage(text: Text, document: Mapping[str, Any], width: int) -> None:
    seen, link = document["coverage"], document["link"]
    parts = [words.coverage(seen["tried"], seen["keys"], seen["presses"], seen["miss_bound_95"])]
    if seen["untried"]:
        parts.append(words.untried(seen["untried"], seen["keys"]))
    parts.append(words.link(link["frames"], link["lost"], link["bad"], link["gaps"]))
    for part in parts:
        _paragraph(text, part, width, LEAD)


def _paragraph(text: Text, words_in: str, width: int, colour: str) -> None:
    for row in wrap(words_in, width):
        text.append(row + "\n", Style(dim=bool(colour)))


def _entries(text: Text, label: str, entries: Sequence[str], width: int) -> None:
    for number, entry in enumerate(entries):
        _entry(text, label if number == 0 else "", entry, width, bullet="· " if len(entries) > 1 else "")


def _entry(text: Text, label: str, entry: str, width: int, style: Style | None = None, bullet: str = "") -> None:
    if not entry:
        return
    indent = " " * (LABEL_WIDE + len(bullet))
    rows = wrap(entry, max(10, width - len(indent))) or [entry]
    text.append(label.rjust(LABEL_WIDE - 2) + "  ", Style(dim=True))
    for number, row in enumerate(rows):
        text.append((bullet if number == 0 else indent) + row + "\n", style or Style())
