"""Layout files (tailwise-layout/1) into `Layout`, with every problem of the file in one pass."""

from __future__ import annotations

from pathlib import Path

import yaml

from tailwise.layoutfile.nodes import FileProblems, Mapping, Problem, Problems, as_number, compose, nearest, words
from tailwise.model.layout import Diode, Key, KeyboardKind, Layout, Position, RouteStop, Source, Tail, Target, Zone

FORMAT = "tailwise-layout/1"
TOP = (
    "format", "id", "title", "kind", "rows", "columns", "singles", "tails", "keys", "routes", "diodes", "target", "zones",
    "sources", "notes",
)  # fmt: skip
KEY = ("id", "legend", "shifted", "row", "column", "also", "position", "rotation", "iso", "hid", "locking")


def read_layout(path: Path) -> Layout:
    """The layout in a file; FileProblems where it cannot be used, OSError where it cannot be read."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise FileProblems([Problem(str(path), 1, "file", f"not UTF-8 text: {error.reason}")]) from error
    return parse_layout(text, str(path))


def parse_layout(text: str, file: str) -> Layout:
    """The layout in a text; `file` is what problems call it."""
    problems = Problems(file)
    layout = _layout(Mapping(compose(text, file), problems, "", TOP), text)
    if problems.found:
        raise FileProblems(sorted(problems.found, key=lambda each: each.line))
    return layout


def _layout(top: Mapping, text: str) -> Layout:
    found = top.problems
    if top.text("format", required=True) not in (FORMAT, None):
        found.add(top.get("format"), "format", f"expected {FORMAT}")
    kind_text = top.text("kind") or "film"
    if kind_text not in {each.value for each in KeyboardKind}:
        found.add(
            top.get("kind"), "kind", f"unknown kind {kind_text}{nearest(kind_text, [each.value for each in KeyboardKind])}"
        )
        kind_text = "film"
    rows, columns, singles = (_names(top, name, name != "singles") for name in ("rows", "columns", "singles"))
    lines = [*rows, *columns, *singles]
    for name in {name for name in lines if lines.count(name) > 1}:
        found.add(top.get("columns"), "columns", f"line {name} stands in more than one list")
    keys = _keys(top, rows, columns, singles)
    layout = Layout(
        id=top.text("id", required=True) or "",
        title=top.text("title", required=True) or "",
        kind=KeyboardKind(kind_text),
        rows=tuple(rows),
        columns=tuple(columns),
        singles=tuple(singles),
        keys=tuple(keys),
        tails=_tails(top, lines),
        diodes=_diodes(top, lines, {key.id for key in keys}),
        target=_target(top),
        zones=_zones(top),
        sources=_sources(top),
        text=text,
    )
    routes = _routes(top, layout)
    return Layout(**{**{name: getattr(layout, name) for name in layout.__dataclass_fields__}, "routes": routes})


def _names(top: Mapping, name: str, required: bool) -> list[str]:
    names: list[str] = []
    for value, node in top.texts(name, required=required):
        if value in names:
            top.problems.add(node, name, f"line {value} stands twice")
        else:
            names.append(value)
    return names


def _keys(top: Mapping, rows: list[str], columns: list[str], singles: list[str]) -> list[Key]:
    found = top.problems
    keys: list[Key] = []
    taken: dict[str, int] = {}
    for index, node in enumerate(top.sequence("keys", required=True)):
        where = f"keys[{index}]"
        item = Mapping(node, found, where, KEY)
        key_id = item.text("id", required=True) or f"?{index}"
        if key_id in taken:
            found.add(item.get("id"), f"{where}.id", f"key {key_id} stands twice, first on line {taken[key_id]}")
        taken.setdefault(key_id, node.start_mark.line + 1)
        ends = []
        for name, valid in (("row", rows + singles), ("column", columns + singles)):
            line = item.text(name)
            if line is not None and line not in valid:
                found.add(item.get(name), f"{where}.{name}", f"key {key_id}: unknown line {line}{nearest(line, valid)}")
            ends.append(line)
        if (ends[0] is None) != (ends[1] is None):
            found.add(node, where, f"key {key_id} needs both a row and a column, or neither")
        also = []
        for place, pair in enumerate(item.sequence("also")):
            names = [words(each) for each in pair.value] if isinstance(pair, yaml.SequenceNode) else []
            if len(names) != 2 or any(name not in rows + columns + singles for name in names):
                found.add(pair, f"{where}.also[{place}]", f"key {key_id}: expected [row, column] of known lines")
            else:
                also.append((str(names[0]), str(names[1])))
        hid = item.number("hid", low=0, high=255)
        keys.append(
            Key(
                id=key_id,
                legend=item.text("legend") or key_id,
                row=ends[0],
                column=ends[1],
                position=_position(item, index),
                shifted=item.text("shifted"),
                also=tuple(also),
                iso=item.text("iso"),
                hid=None if hid is None else int(hid),
                locking=item.flag("locking", False),
            )
        )
    return keys


def _position(item: Mapping, index: int) -> Position:
    nodes = item.sequence("position")
    numbers = [
        as_number(node, item.problems, f"{item.path('position')}[{place}]", -100, 1000) for place, node in enumerate(nodes)
    ]
    if not nodes:
        return Position(float(index), 0.0)
    if len(numbers) not in (2, 4):
        item.problems.add(item.get("position"), item.path("position"), "expected [x, y] or [x, y, width, height] in key units")
        return Position(float(index), 0.0)
    values = [0.0 if number is None else number for number in numbers]
    if len(values) == 4 and min(values[2:]) <= 0:
        item.problems.add(item.get("position"), item.path("position"), "width and height must be above 0")
    return Position(*values, rotation=item.number("rotation", low=-360, high=360) or 0.0)  # type: ignore[misc]


def _tails(top: Mapping, lines: list[str]) -> tuple[Tail, ...] | None:
    if top.get("tails") is None:
        return None
    tails = []
    taken: set[str] = set()
    for index, node in enumerate(top.sequence("tails")):
        item = Mapping(node, top.problems, f"tails[{index}]", ("name", "contacts", "pitch_mm"))
        contacts: list[str | None] = []
        for contact in item.sequence("contacts", required=True):
            name = words(contact)
            if name is not None and name not in lines:
                top.problems.add(contact, item.path("contacts"), f"unknown line {name}{nearest(name, lines)}")
            elif name is not None and name in taken:
                top.problems.add(contact, item.path("contacts"), f"line {name} stands on two contacts")
            taken |= {name} if name is not None else set()
            contacts.append(name)
        tails.append(Tail(item.text("name", required=True) or "", tuple(contacts), item.number("pitch_mm", low=0.1, high=10)))
    return tuple(tails)


def _routes(top: Mapping, layout: Layout) -> dict[str, tuple[RouteStop, ...]] | None:
    if top.get("routes") is None:
        return None
    found = top.problems
    routes: dict[str, tuple[RouteStop, ...]] = {}
    table = Mapping(top.items["routes"], found, "routes")
    for line, node in table.items.items():
        where = f"routes.{line}"
        if line not in layout.lines:
            found.add(table.key_nodes[line], where, f"unknown line {line}{nearest(line, layout.lines)}")
            continue
        stops: list[RouteStop] = []
        visited: list[str] = []
        nodes = list(node.value) if isinstance(node, yaml.SequenceNode) else []
        for index, stop_node in enumerate(nodes):
            item = Mapping(stop_node, found, f"{where}[{index}]", ("key", "from", "mm"))
            key = item.text("key", required=True) or ""
            if key not in layout.keys_on[line]:
                found.add(stop_node, item.path("key"), f"key {key} is not on line {line}{nearest(key, layout.keys_on[line])}")
            elif key in visited:
                found.add(stop_node, item.path("key"), f"key {key} is visited twice")
            origin = visited[-1] if visited else None
            if "from" in item.items:
                origin = item.text("from")
                if origin is not None and origin not in visited:
                    found.add(item.get("from"), item.path("from"), f"{origin} is not an earlier stop{nearest(origin, visited)}")
            stops.append(RouteStop(key, origin, item.number("mm", low=0, high=5000)))
            visited.append(key)
        missed = [key for key in layout.keys_on[line] if key not in visited]
        shared = {
            key
            for key in missed
            if any(set(layout.keys_at[frozenset(p)]) & set(visited) for p in layout.key_by_id[key].crosspoints)
        }
        if [key for key in missed if key not in shared]:
            found.add(
                node, where, f"the route of {line} does not visit {', '.join(key for key in missed if key not in shared)}"
            )
        routes[line] = tuple(stops)
    return routes


def _diodes(top: Mapping, lines: list[str], keys: set[str]) -> tuple[Diode, ...]:
    diodes = []
    for index, node in enumerate(top.sequence("diodes")):
        item = Mapping(node, top.problems, f"diodes[{index}]", ("line", "key", "conducts", "cathode"))
        line, key = item.text("line"), item.text("key")
        if (line is None) == (key is None):
            top.problems.add(node, item.where, "expected either `line` or `key`")
            continue
        if line is not None and line not in lines:
            top.problems.add(item.get("line"), item.path("line"), f"unknown line {line}{nearest(line, lines)}")
        if key is not None and key not in keys:
            top.problems.add(item.get("key"), item.path("key"), f"unknown key {key}{nearest(key, sorted(keys))}")
        name, valid = ("conducts", ("to_tail", "from_tail")) if line is not None else ("cathode", ("row", "column"))
        way = item.text(name, required=True) or valid[0]
        if way not in valid:
            top.problems.add(item.get(name), item.path(name), f"expected {valid[0]} or {valid[1]}")
        diodes.append(Diode(line, key, way))
    return tuple(diodes)


def _target(top: Mapping) -> Target | None:
    node = top.get("target")
    if node is None:
        return None
    item = Mapping(node, top.problems, "target", ("supply_v", "pullup_ohm", "vil_v", "vol_v", "diode_v", "about"))
    values = {
        name: item.number(name, low=low, high=high)
        for name, low, high in (
            ("supply_v", 1, 30), ("pullup_ohm", 10, 1e7), ("vil_v", 0.05, 30), ("vol_v", 0, 5), ("diode_v", 0, 2)
        )
    }  # fmt: skip
    for name in ("supply_v", "pullup_ohm", "vil_v"):
        if values[name] is None and name not in item.items:
            top.problems.add(node, item.path(name), "missing")
    supply, vil, vol, diode = values["supply_v"], values["vil_v"], values["vol_v"] or 0.0, values["diode_v"] or 0.0
    if supply is not None and vil is not None and vil >= supply:
        top.problems.add(node, "target.vil_v", "must be below supply_v")
    if vil is not None and vol + diode >= vil:
        top.problems.add(node, "target", "vol_v and diode_v together reach vil_v, so that no contact could be read")
    return Target(supply or 5.0, values["pullup_ohm"] or 10e3, vil or 0.8, vol, diode, item.text("about") or "")


def _zones(top: Mapping) -> tuple[Zone, ...]:
    zones = []
    for index, node in enumerate(top.sequence("zones")):
        item = Mapping(node, top.problems, f"zones[{index}]", ("name", "reachable"))
        zones.append(Zone(item.text("name", required=True) or "", item.flag("reachable", True)))
    return tuple(zones)


def _sources(top: Mapping) -> tuple[Source, ...]:
    sources = []
    for index, node in enumerate(top.sequence("sources", required=True)):
        item = Mapping(node, top.problems, f"sources[{index}]", ("facts", "source", "checked_against", "assumed"))
        sources.append(
            Source(
                item.text("facts", required=True) or "",
                item.text("source", required=True) or "",
                item.text("checked_against"),
                item.flag("assumed", False),
            )
        )
    if not sources and "sources" in top.items:
        top.problems.add(top.node, "sources", "name at least one source")
    return tuple(sources)
