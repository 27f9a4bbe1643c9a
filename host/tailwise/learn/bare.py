"""A keyboard nobody described: every board line is a line of its own, nothing is known of keys, rows or columns."""

from __future__ import annotations

from tailwise.layoutfile.reader import parse_layout
from tailwise.model.layout import Layout


def bare_layout(lines: int) -> Layout:
    """A layout of board lines `L0` ... without keys: readings between any two lines are shown, none is expected."""
    names = ", ".join(f"L{number}" for number in range(lines))
    text = (
        f"format: tailwise-layout/1\nid: unknown-{lines}-lines\ntitle: An unknown keyboard on {lines} lines\nkind: film\n"
        f"rows: []\ncolumns: []\nsingles: [{names}]\nkeys: []\n"
        "sources:\n  - {facts: nothing, source: nobody has described this keyboard}\n"
    )
    return parse_layout(text, "unknown keyboard", thorough=False)
