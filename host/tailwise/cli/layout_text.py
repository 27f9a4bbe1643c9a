"""One layout for people: its lines, its matrix, where its facts come from."""

from __future__ import annotations

from tailwise.model.layout import Layout
from tailwise.words import commands as words


def describe(layout: Layout) -> str:
    """The matrix with the key ids (the longer axis downwards, to fit a terminal), tails in contact order, sources."""
    across, down = sorted((layout.rows, layout.columns), key=len)
    cells = [["", *across]]
    cells += [[one, *(",".join(layout.keys_at.get(frozenset((one, other)), ())) or "." for other in across)] for one in down]
    widths = [max(len(line[place]) for line in cells) + 2 for place in range(len(across) + 1)]
    lines = ["".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip() for line in cells]
    for tail in layout.tails or ():
        lines.append(words.tail_line(tail.name, [contact or "-" for contact in tail.contacts]))
    if layout.zones:
        lines.append(words.zones_line([zone.name for zone in layout.zones]))
    for source in layout.sources:
        lines.append(f"{source.facts}: {source.source}")
    return "\n".join(lines)
