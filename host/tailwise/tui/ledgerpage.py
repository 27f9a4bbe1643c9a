"""Texts of the ledger screen from ledger entries: pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.text import Text

from tailwise.ledger.compare import Comparison
from tailwise.ledger.store import RunEntry
from tailwise.words import ledgerscreen as words
from tailwise.words import verdictpage as verdict_words


def run_text(run: RunEntry, owner: str = "", notes: str = "") -> Text:
    """One run with its findings."""
    text = Text()
    text.append(words.run_head(run.run, run.label, run.tool, run.board, run.fingerprint) + "\n", "bold")
    about = words.owner_line(owner, notes)
    text.append(about + "\n" if about else "")
    for finding in run.document["findings"]:
        named = verdict_words.names(finding["lines"], finding["keys"])
        text.append(words.finding(finding["kind"], named, verdict_words.sure(finding["probability"])) + "\n")
    if not run.document["findings"]:
        text.append(words.NO_FINDINGS + "\n")
    return text


def comparison_text(change: Comparison) -> Text:
    """Two runs side by side."""
    text = Text()
    text.append(words.compared(change.before.run, change.after.run) + "\n", "bold")
    if not change.same_keyboard:
        text.append(words.NOT_SAME_KEYBOARD + "\n")
    if not change.same_layout:
        text.append(words.NOT_SAME_LAYOUT + "\n")
    for word, findings in ((words.GONE, change.gone), (words.NEW, change.new), (words.SAME, change.same)):
        text.append(words.change(word, _named(findings)) + "\n")
    for key in change.keys:
        text.append(words.key_changed(key.key, *key.presses, *key.loop_ohm) + "\n")
    return text


def _named(findings: Sequence[dict[str, Any]]) -> list[str]:
    return [f"{one['kind'].replace('_', ' ')} {verdict_words.names(one['lines'], one['keys'])}" for one in findings]
