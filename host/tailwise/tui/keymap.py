"""The live key map as cells: layout, states and a size in, pieces of text out. No screen, no toolkit.

Key units become cells by one whole factor each way, and a key reaches from the rounded place of its left edge to the
rounded place of its right edge: rounding keeps order, so keys that do not overlap on the drawing do not on the screen.
Keys that do overlap there (turned ones: their turn is not drawn) are pushed right until they are free. Where the smallest
factor is still too large for the space, the map scrolls to the key that matters.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from math import floor

from rich.cells import cell_len, set_cell_size

from tailwise.model.layout import Layout

LEAST_WIDE, MOST_WIDE = 4, 12
"""Cells across for one key unit."""

MOST_HIGH = 4
"""Cells down for one key unit; one is the least, two show the word."""

RAIL, RAIL_MARKED = "▏", "▌"
"""The left edge of a key, plain and for keys on the watched line."""


@dataclass(frozen=True, slots=True)
class Box:
    """A key on the whole map, in cells."""

    key: str
    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Piece:
    """One line of one key as it stands in the view."""

    x: int
    y: int
    text: str
    key: str
    state: str


@dataclass(frozen=True, slots=True)
class KeyMap:
    """What is to be drawn, and how much of the map lies outside the view on each side."""

    pieces: tuple[Piece, ...]
    left: int = 0
    above: int = 0
    right: int = 0
    below: int = 0


def boxes(layout: Layout, width: int, height: int) -> tuple[Box, ...]:
    """Where every key stands on the whole map, drawn as large as fits the space and no smaller than can be read."""
    if not layout.keys:
        return ()
    left = min(key.position.x for key in layout.keys)
    top = min(key.position.y for key in layout.keys)
    wide = max(key.position.x + key.position.width for key in layout.keys) - left
    high = max(key.position.y + key.position.height for key in layout.keys) - top
    across = min(MOST_WIDE, max(LEAST_WIDE, floor(width / wide)))
    down = min(MOST_HIGH, max(1, floor(height / high)))
    placed: list[Box] = []
    for key in layout.keys:
        place = key.position
        x, end = _cell((place.x - left) * across), _cell((place.x + place.width - left) * across)
        y, bottom = _cell((place.y - top) * down), _cell((place.y + place.height - top) * down)
        placed.append(_free(Box(key.id, x, y, max(1, end - x), max(1, bottom - y)), placed))
    return tuple(placed)


def draw(
    layout: Layout,
    states: Mapping[str, str],
    symbols: Mapping[str, str],
    state_words: Mapping[str, str],
    size: tuple[int, int],
    focus: str | None = None,
    marked: Collection[str] = (),
) -> KeyMap:
    """The map in a view of `size` (cells across, down), scrolled so that the key `focus` is in it."""
    width, height = size
    if width <= 0 or height <= 0:
        return KeyMap(())
    all_boxes = boxes(layout, width, height)
    whole_wide = max((box.x + box.width for box in all_boxes), default=0)
    whole_high = max((box.y + box.height for box in all_boxes), default=0)
    target = next((box for box in all_boxes if box.key == focus), None)
    left = _scroll(whole_wide, width, None if target is None else (target.x, target.width))
    above = _scroll(whole_high, height, None if target is None else (target.y, target.height))
    inset, drop = max(0, (width - whole_wide) // 2), max(0, (height - whole_high) // 2)
    pieces: list[Piece] = []
    for box in all_boxes:
        key = layout.key_by_id[box.key]
        state = states[box.key]
        lines = _lines(box, key.legend or key.id, symbols[state], state_words[state], box.key in marked)
        for number, text in enumerate(lines):
            piece = _cut(box.x - left + inset, box.y + number - above + drop, text, (width, height))
            if piece is not None:
                pieces.append(Piece(piece[0], piece[1], piece[2], box.key, state))
    pieces.sort(key=lambda piece: (piece.y, piece.x))
    right, below = max(0, whole_wide - left - width), max(0, whole_high - above - height)
    return KeyMap(tuple(pieces), left, above, right, below)


def _cell(units: float) -> int:
    return floor(units + 0.5)


def _free(box: Box, placed: list[Box]) -> Box:
    moved = box
    while True:
        hit = next((other for other in placed if _overlap(moved, other)), None)
        if hit is None:
            return moved
        moved = Box(box.key, hit.x + hit.width, box.y, box.width, box.height)


def _overlap(one: Box, other: Box) -> bool:
    return (
        one.x < other.x + other.width
        and other.x < one.x + one.width
        and one.y < other.y + other.height
        and other.y < one.y + one.height
    )


def _scroll(whole: int, view: int, target: tuple[int, int] | None) -> int:
    if whole <= view or target is None:
        return 0
    start, length = target
    return max(0, min(start + length // 2 - view // 2, whole - view))


def _lines(box: Box, legend: str, symbol: str, word: str, marked: bool) -> list[str]:
    if box.width < 3:
        first = symbol.ljust(box.width)
    else:
        gap = " " if box.width > 4 else ""
        rail = RAIL_MARKED if marked else RAIL
        first = rail + set_cell_size(legend, box.width - 2 - len(gap)) + symbol + gap
    if box.height == 1 or box.width < 3:
        return [first] + [" " * box.width] * (box.height - 1)
    rail = first[0]
    second = rail + set_cell_size(word, box.width - 1)
    return [first, second, *[rail + " " * (box.width - 1)] * (box.height - 2)]


def _cut(x: int, y: int, text: str, size: tuple[int, int]) -> tuple[int, int, str] | None:
    """The part of a line of text that lies in the view; text with double-width signs is shown whole or not at all."""
    width, height = size
    wide = cell_len(text)
    if not 0 <= y < height or x >= width or x + wide <= 0:
        return None
    if x >= 0 and x + wide <= width:
        return x, y, text
    if wide != len(text):
        return None
    start = max(0, -x)
    return max(0, x), y, text[start : start + width - max(0, x)]
