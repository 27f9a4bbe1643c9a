"""One layout for people: its lines, its matrix, where its facts come from."""

from __future__ import annotations

from tailwise.model.layout import Layout
from tailwise.words import commands as words


def describe(layout: Layout) -> str:
    """Rows against columns with the key ids, tails in contact order, sources."""
    cells = [["", *layout.columns]]
    for row in layout.rows:
        points = [",".join(layout.keys_at.get(frozenset((row, column)), ())) or "." for column in layout.columns]
        cells.append([row, *points])
    width = max(len(cell) for line in cells for cell in line) + 1
    lines = ["".join(cell.ljust(width) for cell in line).rstrip() for line in cells]
    for tail in layout.tails or ():
        lines.append(words.tail_line(tail.name, [contact or "-" for contact in tail.contacts]))
    if layout.zones:
        lines.append(words.zones_line([zone.name for zone in layout.zones]))
    for source in layout.sources:
        lines.append(f"{source.facts}: {source.source}")
    return "\n".join(lines)
