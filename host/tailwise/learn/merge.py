"""Two learnings of two specimens into one: what one could not find, the other may have.

The board lines of the two need not agree. Keys found in both tie the lines of one to the lines of the other; a tie is
kept where most keys on the line agree, and keys that disagree stay open.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from tailwise.model.layout import Key, Layout


class MergeError(ValueError):
    """Two layouts that cannot be of the same keyboard."""


@dataclass(frozen=True)
class Merged:
    """Keys with the first specimen's line names; filled: found only by the second; disagreeing: different in both."""

    keys: tuple[Key, ...]
    filled: tuple[str, ...]
    disagreeing: tuple[str, ...]
    added_lines: tuple[str, ...]


def merge(first: Layout, second: Layout) -> Merged:
    """Merge by key id; MergeError where the keys differ or hardly any key ties the lines together."""
    if set(first.key_by_id) != set(second.key_by_id):
        differing = sorted(set(first.key_by_id) ^ set(second.key_by_id))
        raise MergeError(f"the two drawings differ in the keys {', '.join(differing[:8])}")
    tie = _tie(first, second)
    keys, filled, disagreeing = [], [], []
    new_names: dict[str, str] = {}
    for key in first.keys:
        other = second.key_by_id[key.id]
        if other.row is None or other.column is None:
            keys.append(key)
            continue
        ends = [tie.get(line) or _new_name(line, first, new_names) for line in (other.row, other.column)]
        if key.row is None:
            if ends[0] in first.columns or ends[1] in first.rows:
                ends.reverse()
            keys.append(replace(key, row=ends[0], column=ends[1]))
            filled.append(key.id)
        else:
            if {key.row, key.column} != set(ends):
                disagreeing.append(key.id)
            keys.append(key)
    return Merged(tuple(keys), tuple(filled), tuple(disagreeing), tuple(sorted(new_names.values())))


def _tie(first: Layout, second: Layout) -> dict[str, str]:
    """Line of the second -> line of the first, by majority; the two sides may have changed names."""
    votes: dict[bool, dict[str, Counter[str]]] = {False: {}, True: {}}
    for key in first.keys:
        other = second.key_by_id[key.id]
        if key.row is None or key.column is None or other.row is None or other.column is None:
            continue
        for crossed, ends in ((False, (key.row, key.column)), (True, (key.column, key.row))):
            for mine, theirs in zip(ends, (other.row, other.column), strict=True):
                votes[crossed].setdefault(theirs, Counter())[mine] += 1
    scores = {crossed: sum(max(count.values()) for count in table.values()) for crossed, table in votes.items()}
    table = votes[scores[True] > scores[False]]
    if not table:
        raise MergeError("no key was found in both specimens, so their lines cannot be tied together")
    return {line: count.most_common(1)[0][0] for line, count in table.items()}


def _new_name(line: str, first: Layout, names: dict[str, str]) -> str:
    if line not in names:
        names[line] = line if line not in first.lines else f"{line}b"
    return names[line]
