"""What must hold across a whole layout: crosspoints, drawing, circuit, sources."""

from __future__ import annotations

from tailwise.layoutfile.drawing import overlapping
from tailwise.layoutfile.keys import KeyPlace
from tailwise.layoutfile.nodes import Mapping
from tailwise.model.layout import Key, Layout

SOURCED = ("routes", "tails", "target")  # facts a file may give that must then have a source


def check_layout(top: Mapping, layout: Layout, places: dict[str, KeyPlace], thorough: bool) -> None:
    """Note everything wrong with the layout as a whole."""
    _crosspoints(top, layout, places)
    _circuit(top, layout, places)
    if thorough:
        _drawing(top, layout, places)
        _sources(top, layout)


def _crosspoints(top: Mapping, layout: Layout, places: dict[str, KeyPlace]) -> None:
    for point, ids in layout.keys_at.items():
        lines = " and ".join(line for line in layout.lines if line in point)
        silent = [key for key in dict.fromkeys(ids) if not layout.key_by_id[key].shared]
        if len(set(ids)) > 1 and silent:
            place = places[silent[-1]]
            others = ", ".join(key for key in dict.fromkeys(ids) if key != silent[-1])
            text = (
                f"key {silent[-1]} stands on the crosspoint of {lines} with {others}; where that is so, both say `shared: true`"
            )
            top.problems.add(place.node, place.where, text)
        for key in sorted({key for key in ids if ids.count(key) > 1}):
            top.problems.add(places[key].node, f"{places[key].where}.also", f"key {key} names the crosspoint of {lines} twice")
    for each in layout.keys:
        alone = all(len(set(layout.keys_at[frozenset(point)])) == 1 for point in each.crosspoints)
        if each.shared and alone:
            place = places[each.id]
            top.problems.add(
                place.node, f"{place.where}.shared", f"key {each.id} says `shared`, but no other key is on its crosspoint"
            )


def _circuit(top: Mapping, layout: Layout, places: dict[str, KeyPlace]) -> None:
    """A closed key must let current flow: into the sheet through one line, out through the other."""
    ways = {diode.line: diode.conducts for diode in layout.diodes if diode.line is not None}
    cathodes = {diode.key: diode.conducts for diode in layout.diodes if diode.key is not None}
    for key in layout.keys:
        place = places[key.id]
        for row, column in key.crosspoints:
            why = _impossible(row, column, ways, cathodes.get(key.id))
            if why:
                top.problems.add(place.node, place.where, f"key {key.id} can never be read: {why}")
        if key.id in cathodes and not key.crosspoints:
            top.problems.add(place.node, place.where, f"key {key.id} has a diode but no crosspoint")


def _impossible(row: str, column: str, ways: dict[str, str], cathode: str | None) -> str | None:
    if row == column:
        return f"both its ends are line {row}"
    row_way, column_way = ways.get(row), ways.get(column)
    if row_way is not None and row_way == column_way:
        return f"the diodes of {row} and {column} both conduct {row_way}"
    wanted = {"row": ("to_tail", "from_tail"), "column": ("from_tail", "to_tail")}
    if cathode in wanted:
        for line, way, flow in ((row, row_way, wanted[cathode][0]), (column, column_way, wanted[cathode][1])):
            if way is not None and way != flow:
                return f"its own diode points against the diode of {line}"
    return None


def _drawing(top: Mapping, layout: Layout, places: dict[str, KeyPlace]) -> None:
    drawn: list[Key] = [key for key in layout.keys if places[key.id].drawn]
    for first, second in overlapping(drawn):
        place = places[second.id]
        text = f"key {second.id} overlaps key {first.id} (line {places[first.id].node.start_mark.line + 1})"
        top.problems.add(place.node, f"{place.where}.position", text)


def _sources(top: Mapping, layout: Layout) -> None:
    if not layout.sources:
        return  # said already
    facts = " ".join(source.facts.lower() for source in layout.sources)
    wanted = ["matrix", *(name for name in SOURCED if top.get(name) is not None)]
    for name in wanted:
        if name.rstrip("s") not in facts and "everything" not in facts:
            text = f"no source is named for the {name}; add one whose `facts` says {name}"
            top.problems.add(top.get("sources"), "sources", text)
