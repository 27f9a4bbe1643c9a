"""A keyboard as a person draws it: one line of text a row of keys, or a common shape to begin with.

In a row, keys are separated by blanks; `NAME:1.5` is a key 1.5 units wide, `_:0.5` a gap. A name twice in one drawing gets
a number (`SHIFT`, `SHIFT2`).
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from tailwise.model.layout import Key, KeyboardKind, Layout, Position

SHAPES: dict[str, tuple[str, ...]] = {
    "four rows, 40 keys": (
        "1 2 3 4 5 6 7 8 9 0",
        "_:0.5 Q W E R T Y U I O P",
        "_:0.75 A S D F G H J K L ENTER",
        "SHIFT Z X C V B N M . SPACE",
    ),
    "typewriter, 5 rows": (
        "ESC 1 2 3 4 5 6 7 8 9 0 - = DEL:1.5",
        "TAB:1.5 Q W E R T Y U I O P [ ] RETURN:1.5",
        "CTRL:1.75 A S D F G H J K L ; '",
        "SHIFT:2.25 Z X C V B N M , . / SHIFT:2.25",
        "_:4 SPACE:7",
    ),
    "number pad, 4 x 4": ("7 8 9 /", "4 5 6 *", "1 2 3 -", "0 . = +"),
}
"""Common shapes, ours; to be changed by the user."""

_KEY = re.compile(r"^(?P<name>.+?)(?::(?P<width>\d+(?:\.\d+)?))?$")


class DrawingError(ValueError):
    """A row that cannot be read: its number and what was expected."""


def draw(rows: Sequence[str]) -> tuple[Key, ...]:
    """Keys without lines, placed as drawn; DrawingError names the row and the word."""
    keys: list[Key] = []
    taken: set[str] = set()
    for y, row in enumerate(rows):
        x = 0.0
        for word in row.split():
            match = _KEY.match(word)
            name, width_text = (match["name"], match["width"]) if match else (word, None)
            width = 1.0 if width_text is None else float(width_text)
            if not 0.25 <= width <= 20:
                raise DrawingError(f"row {y + 1}, {word}: a width runs from 0.25 to 20 key units")
            if name != "_":
                key_id, number = name, 2
                while key_id in taken:
                    key_id, number = f"{name}{number}", number + 1
                taken.add(key_id)
                keys.append(Key(key_id, name, None, None, Position(x, float(y), width)))
            x += width
    if not keys:
        raise DrawingError("draw at least one key")
    return tuple(keys)


def drawn_layout(keys: Sequence[Key], title: str = "") -> Layout:
    """The drawing as a layout without lines, to be shown on a key map."""
    return Layout("drawing", title, KeyboardKind.FILM, (), (), tuple(keys))


def rows_of(layout: Layout) -> tuple[str, ...]:
    """A known layout as a drawing to begin with: for a variant of it, or another make of the same machine.

    Keys of one row are those whose tops lie within half a key unit; a key taller than one unit is drawn as one unit high.
    """
    rows: list[list[Key]] = []
    for key in sorted(layout.keys, key=lambda each: (each.position.y, each.position.x)):
        if rows and key.position.y - rows[-1][0].position.y < 0.5:
            rows[-1].append(key)
        else:
            rows.append([key])
    left = min((key.position.x for key in layout.keys), default=0.0)
    return tuple(_row_text(row, left) for row in rows)


def _row_text(row: Sequence[Key], left: float) -> str:
    words, at = [], left
    for key in sorted(row, key=lambda each: each.position.x):
        gap = key.position.x - at
        if gap >= 0.25:
            words.append(_sized("_", gap))
            at += round(gap, 2)
        words.append(_sized("".join(key.id.split()).replace(":", ";"), key.position.width))
        at += key.position.width
    return " ".join(words)


def _sized(name: str, width: float) -> str:
    return name if width == 1 else f"{name}:{width:g}"
