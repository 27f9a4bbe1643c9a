"""An earlier judged document beside the present one: what is gone, what is new, what stayed."""

from __future__ import annotations

from typing import Any

from tailwise.report.page import BeforeAfter, about
from tailwise.words import report as words


def _named(document: dict[str, Any]) -> dict[tuple[str, str], str]:
    return {
        (finding["kind"], about(finding)): f"{words.KIND.get(finding['kind'], finding['kind'])} ({about(finding)})"
        for finding in document["findings"]
    }


def before_and_after(earlier: dict[str, Any], date: str, now: dict[str, Any]) -> BeforeAfter:
    """Findings are the same where kind, lines and keys are."""
    old, new = _named(earlier), _named(now)
    return BeforeAfter(
        date=date[:10],
        verdict=earlier["verdict"],
        gone=tuple(old[name] for name in sorted(old.keys() - new.keys())),
        new=tuple(new[name] for name in sorted(new.keys() - old.keys())),
        same=tuple(new[name] for name in sorted(new.keys() & old.keys())),
    )
