"""The raw matrix as text: every line against every line, in one to three blocks side by side. No screen, no toolkit."""

from __future__ import annotations

from rich.style import Style
from rich.text import Text

from tailwise.learn.raw import RawPicture
from tailwise.tui.theme import AMBER, LEAD, PATINA, RUST, SILVER
from tailwise.words import raw as words

LABEL_WIDE = 4
GAP = 2
STYLES = {
    words.NOW: Style(color=SILVER, bold=True),
    words.STUCK: Style(color=RUST, bold=True),
    words.FLICKERS: Style(color=AMBER, bold=True),
    words.EVER: Style(color=PATINA),
    words.NEVER: Style(color=LEAD, dim=True),
    words.SELF: Style(color=LEAD, dim=True),
}
PLAIN = {sign: Style(bold=sign in (words.NOW, words.STUCK, words.FLICKERS)) for sign in STYLES}


def arrangement(lines: int, width: int, height: int) -> tuple[int, int]:
    """Blocks side by side and cells across for one line: the widest cells that fit, else as few rows as the width allows."""
    for cell in (3, 2, 1):
        for blocks in (1, 2, 3):
            rows = -(-lines // blocks) + (1 if cell == 3 else 2)
            if blocks * (LABEL_WIDE + cell * lines) + (blocks - 1) * GAP <= width and rows <= height:
                return blocks, cell
    return max(1, min(3, (width + GAP) // (LABEL_WIDE + lines + GAP))), 1


def sign(picture: RawPicture, driven: int, sensed: int) -> str:
    """What one cell shows: the most telling of what is known of it."""
    pair = (min(driven, sensed), max(driven, sensed))
    if driven == sensed:
        return words.SELF
    if pair in picture.stuck:
        return words.STUCK
    if (driven, sensed) in picture.now:
        return words.NOW
    if picture.flickers.get(pair):
        return words.FLICKERS
    return words.EVER if (driven, sensed) in picture.ever else words.NEVER


def raw_map(picture: RawPicture, width: int, height: int, *, plain: bool) -> Text:
    """The matrix for a space of this many cells: driven lines down, sensed lines across."""
    blocks, cell = arrangement(picture.lines, width, height)
    styles = PLAIN if plain else STYLES
    deep = -(-picture.lines // blocks)
    head = Text(no_wrap=True)
    for row in _head(picture.lines, cell):
        head.append((" " * GAP).join([" " * LABEL_WIDE + row] * blocks).rstrip() + "\n", Style(dim=True))
    text = head
    for at in range(deep):
        for block in range(blocks):
            driven = block * deep + at
            if driven >= picture.lines:
                continue
            text.append(" " * GAP if block else "")
            text.append(f"L{driven}".ljust(LABEL_WIDE), Style(bold=True))
            for sensed in range(picture.lines):
                shown = sign(picture, driven, sensed)
                text.append(shown.ljust(cell) if cell < 3 else f"{shown}  ", styles[shown])
        text.append("\n" if at + 1 < deep else "")
    return text


def legend(*, plain: bool) -> Text:
    """Every sign with its word, in one row."""
    text = Text(no_wrap=True, overflow="ellipsis")
    styles = PLAIN if plain else STYLES
    for shown, word in words.LEGEND:
        text.append(shown, styles[shown])
        text.append(f" {word}  ")
    text.append(words.SIDES, Style(dim=True))
    return text


def _head(lines: int, cell: int) -> list[str]:
    if cell == 3:
        return ["".join(f"{line:<3}" for line in range(lines))]
    tens = "".join((str(line // 10) if line >= 10 else " ").ljust(cell) for line in range(lines))
    return [tens, "".join(str(line % 10).ljust(cell) for line in range(lines))]
