"""The `keys` of a layout file."""

from __future__ import annotations

import re
from dataclasses import dataclass

import yaml

from tailwise.layoutfile.nodes import Mapping, as_number, nearest, words
from tailwise.model.layout import Key, Position

KEY = (
    "id", "legend", "shifted", "row", "column", "also", "shared", "position", "rotation", "iso", "hid", "locking", "note",
)  # fmt: skip
ISO_GRID = re.compile(r"[A-L]\d{2}")  # ISO/IEC 9995-1: row letter, column number; A is the space bar's row, E the digits'


@dataclass(frozen=True, slots=True)
class KeyPlace:
    """Where a key stands in the file, and whether the file says where it lies on the keyboard."""

    node: yaml.Node
    where: str
    drawn: bool


def read_keys(
    top: Mapping, rows: list[str], columns: list[str], singles: list[str], *, may_be_empty: bool = False
) -> tuple[list[Key], dict[str, KeyPlace]]:
    """The keys, and by id where each stands."""
    found = top.problems
    keys: list[Key] = []
    places: dict[str, KeyPlace] = {}
    nodes = top.sequence("keys", required=True)
    for index, node in enumerate(nodes):
        where = f"keys[{index}]"
        item = Mapping(node, found, where, KEY)
        if not isinstance(node, yaml.MappingNode):
            continue
        key_id = item.text("id", required=True) or f"?{index}"
        if key_id in places:
            first = places[key_id].node.start_mark.line + 1
            found.add(item.get("id"), f"{where}.id", f"key {key_id} stands twice, first on line {first}")
        key = _key(item, index, key_id, rows + singles, columns + singles)
        if key_id not in places:
            places[key_id] = KeyPlace(node, where, item.get("position") is not None)
            keys.append(key)
    if not nodes and not may_be_empty and isinstance(top.get("keys"), yaml.SequenceNode):
        found.add(top.get("keys"), "keys", "name at least one key")
    return keys, places


def _key(item: Mapping, index: int, key_id: str, rows: list[str], columns: list[str]) -> Key:
    row, column = (_end(item, key_id, name, valid) for name, valid in (("row", rows), ("column", columns)))
    if (row is None) != (column is None):
        item.problems.add(item.node, item.where, f"key {key_id} needs both a row and a column, or neither")
    iso = item.text("iso")
    if iso is not None and not ISO_GRID.fullmatch(iso):
        item.problems.add(item.get("iso"), item.path("iso"), f"key {key_id}: expected a letter A-L and two digits, as C01")
    return Key(
        id=key_id,
        legend=item.text("legend") or key_id,
        row=row,
        column=column,
        position=_position(item, index),
        shifted=item.text("shifted"),
        also=_also(item, key_id, rows, columns),
        iso=iso,
        hid=_usage(item, key_id),
        locking=item.flag("locking", False),
        shared=item.flag("shared", False),
        note=item.text("note"),
    )


def _end(item: Mapping, key_id: str, name: str, valid: list[str]) -> str | None:
    line = item.text(name)
    if line is not None and line not in valid:
        item.problems.add(item.get(name), item.path(name), f"key {key_id}: unknown line {line}{nearest(line, valid)}")
    return line


def _also(item: Mapping, key_id: str, rows: list[str], columns: list[str]) -> tuple[tuple[str, str], ...]:
    points: list[tuple[str, str]] = []
    for place, pair in enumerate(item.sequence("also")):
        names = [words(each) for each in pair.value] if isinstance(pair, yaml.SequenceNode) else []
        if len(names) != 2 or names[0] not in rows or names[1] not in columns:
            where = f"{item.path('also')}[{place}]"
            unknown = [name or "" for name, valid in zip(names, (rows, columns), strict=False) if name not in valid]
            hint = nearest(unknown[0], rows + columns) if unknown else ""
            item.problems.add(pair, where, f"key {key_id}: expected [row, column] of known lines{hint}")
        else:
            points.append((str(names[0]), str(names[1])))
    return tuple(points)


def _usage(item: Mapping, key_id: str) -> int | None:
    usage = item.number("hid", low=0, high=255)
    if usage is not None and usage != int(usage):
        item.problems.add(item.get("hid"), item.path("hid"), f"key {key_id}: expected a whole number (USB HID usage, page 7)")
    return None if usage is None else int(usage)


def _position(item: Mapping, index: int) -> Position:
    unknown = Position(float(index), 0.0)
    rotation = item.number("rotation", low=-360, high=360) or 0.0
    nodes = item.sequence("position")
    if item.get("position") is None:
        return unknown
    where = item.path("position")
    numbers = [as_number(node, item.problems, f"{where}[{place}]", -100, 1000) for place, node in enumerate(nodes)]
    if len(numbers) not in (2, 4):
        item.problems.add(item.get("position"), where, "expected [x, y] or [x, y, width, height] in key units")
        return unknown
    x, y, width, height = [1.0 if number is None else number for number in (*numbers, 1.0, 1.0)[:4]]
    if min(width, height) <= 0:
        item.problems.add(item.get("position"), where, "width and height must be above 0")
        return unknown
    return Position(x, y, width, height, rotation)
