"""Small made-up layouts for tests of observing."""

from __future__ import annotations

from tailwise.model.layout import Diode, Key, KeyboardKind, Layout, Position

PLACE = Position(0, 0)


def grid(rows: int, columns: int, diodes: tuple[Diode, ...] = (), without: frozenset[str] = frozenset()) -> Layout:
    """A key on every crosspoint, named by its lines (`A1` on row A, column 1), those in `without` left out."""
    row_names = tuple("ABCDEFGH"[:rows])
    column_names = tuple("12345678"[:columns])
    keys = tuple(
        Key(row + column, row + column, row, column, PLACE)
        for row in row_names
        for column in column_names
        if row + column not in without
    )
    return Layout("grid", "grid", KeyboardKind.FILM, row_names, column_names, keys, diodes=diodes)
