"""How tails sit in the sockets: which line of the membrane stands at which board line."""

from __future__ import annotations

from tailwise.model.layout import Layout


def proper_seat(board_line: dict[str, int]) -> dict[int, str]:
    """Every line where the wiring expects it."""
    return {number: line for line, number in board_line.items()}


def contacts_of(layout: Layout, tail: str) -> tuple[str, ...]:
    """The lines of a tail in contact order."""
    return next(each.lines for each in layout.tails or () if each.name == tail)


def reversed_tail(layout: Layout, seat: dict[int, str], tail: str) -> dict[int, str]:
    """The tail turned over: first contact where the last belongs."""
    lines = contacts_of(layout, tail)
    return _moved(seat, dict(zip(lines, reversed(lines), strict=True)))


def shifted_tail(layout: Layout, seat: dict[int, str], tail: str, by: int) -> dict[int, str]:
    """The tail pushed aside by some contacts: socket contact i meets contact i + by, the rest meet nothing."""
    lines = contacts_of(layout, tail)
    meets = {line: lines[index + by] if 0 <= index + by < len(lines) else None for index, line in enumerate(lines)}
    return _moved(seat, meets)


def swapped_tails(layout: Layout, seat: dict[int, str], one: str, other: str) -> dict[int, str]:
    """Two tails in each other's sockets; contacts that the longer tail has too many meet nothing."""
    first, second = contacts_of(layout, one), contacts_of(layout, other)
    meets: dict[str, str | None] = {}
    for mine, theirs in ((first, second), (second, first)):
        meets |= {line: theirs[index] if index < len(theirs) else None for index, line in enumerate(mine)}
    return _moved(seat, meets)


def _moved(seat: dict[int, str], meets: dict[str, str | None]) -> dict[int, str]:
    placed = {number: meets.get(line, line) for number, line in seat.items()}
    return {number: line for number, line in placed.items() if line is not None}
