"""Two runs side by side: what changed between before and after."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tailwise.ledger.store import RunEntry


@dataclass(frozen=True, slots=True)
class KeyChange:
    """A key whose record differs: presses seen and loop resistance in ohms, before and after."""

    key: str
    presses: tuple[int, int]
    loop_ohm: tuple[float | None, float | None]


@dataclass(frozen=True, slots=True)
class Comparison:
    """What is gone, what is new, what stayed, and which keys changed."""

    before: RunEntry
    after: RunEntry
    gone: tuple[dict[str, Any], ...]
    new: tuple[dict[str, Any], ...]
    same: tuple[dict[str, Any], ...]
    keys: tuple[KeyChange, ...]
    same_keyboard: bool
    same_layout: bool


def _name(finding: dict[str, Any]) -> tuple[str, tuple[str, ...], tuple[str, ...]]:
    return finding["kind"], tuple(finding["lines"]), tuple(finding["keys"])


def compare(before: RunEntry, after: RunEntry) -> Comparison:
    """Compare two runs; findings are the same when kind, lines and keys are."""
    old = {_name(finding): finding for finding in before.document["findings"]}
    new = {_name(finding): finding for finding in after.document["findings"]}
    changes = []
    for key in sorted(before.keys.keys() & after.keys.keys()):
        one, two = before.keys[key], after.keys[key]
        silent_changed = (one.presses == 0) != (two.presses == 0)
        if silent_changed or one.loop_ohm != two.loop_ohm:
            changes.append(KeyChange(key, (one.presses, two.presses), (one.loop_ohm, two.loop_ohm)))
    return Comparison(
        before=before,
        after=after,
        gone=tuple(old[name] for name in sorted(old.keys() - new.keys())),
        new=tuple(new[name] for name in sorted(new.keys() - old.keys())),
        same=tuple(new[name] for name in sorted(new.keys() & old.keys())),
        keys=tuple(changes),
        same_keyboard=before.label == after.label,
        same_layout=before.layout == after.layout,
    )
