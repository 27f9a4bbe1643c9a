"""Wiring: layout line -> line number of the board.

A plain harness takes the lines in `Layout.harness_order`: tail by tail in contact order onto board lines 0, 1, 2 ...,
then lines on no tail. Any other wiring is stored in the recording's header.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from tailwise.model.layout import Layout
from tailwise.wire.messages import LineRole


class WiringError(ValueError):
    """A wiring that does not fit the layout or the board; the text names the line and what was expected."""


@dataclass(frozen=True)
class Wiring:
    """board_line: layout line -> board line, each board line at most once."""

    board_line: dict[str, int]

    @cached_property
    def line_name(self) -> dict[int, str]:
        """Board line -> layout line."""
        return {number: name for name, number in self.board_line.items()}

    def roles(self) -> bytes:
        """The roles of SET_LINES: both for every wired line, unused for the rest."""
        roles = bytearray(max(self.board_line.values(), default=-1) + 1)
        for number in self.board_line.values():
            roles[number] = LineRole.BOTH
        return bytes(roles)


def plain_wiring(layout: Layout) -> Wiring:
    """Lines in harness order onto board lines 0, 1, 2 ..."""
    return Wiring({line: number for number, line in enumerate(layout.harness_order)})


def checked_wiring(layout: Layout, board_line: dict[str, int]) -> Wiring:
    """A wiring from outside; WiringError where it names unknown lines, misses some or doubles a board line."""
    unknown = sorted(set(board_line) - set(layout.lines))
    missing = sorted(set(layout.lines) - set(board_line))
    if unknown or missing:
        raise WiringError(f"wiring does not fit layout {layout.id}: unknown lines {unknown}, missing lines {missing}")
    if len(set(board_line.values())) != len(board_line):
        raise WiringError("wiring puts two lines on one board line")
    if any(not 0 <= number < 40 for number in board_line.values()):
        raise WiringError("board lines run from 0 to 39")
    return Wiring(dict(board_line))
