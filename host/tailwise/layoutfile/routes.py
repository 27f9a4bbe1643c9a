"""The `routes` of a layout file: for each line the tree of crosspoints from the tail outwards."""

from __future__ import annotations

import yaml

from tailwise.layoutfile.nodes import Mapping, nearest
from tailwise.model.layout import Layout, RouteStop


def read_routes(top: Mapping, layout: Layout) -> dict[str, tuple[RouteStop, ...]] | None:
    """Line -> its stops; None where the file gives no routes. A route must visit every crosspoint of its line."""
    if top.get("routes") is None:
        return None
    routes: dict[str, tuple[RouteStop, ...]] = {}
    table = Mapping(top.items["routes"], top.problems, "routes")
    for line, node in table.items.items():
        where = f"routes.{line}"
        if line not in layout.lines:
            top.problems.add(table.key_nodes[line], where, f"unknown line {line}{nearest(line, layout.lines)}")
        elif not isinstance(node, yaml.SequenceNode):
            top.problems.add(node, where, "expected a list of stops")
        else:
            routes[line] = _route(top, layout, line, node)
    return routes


def _route(top: Mapping, layout: Layout, line: str, node: yaml.SequenceNode) -> tuple[RouteStop, ...]:
    found = top.problems
    where = f"routes.{line}"
    on_line = layout.keys_on[line]
    stops: list[RouteStop] = []
    visited: list[str] = []
    for index, stop in enumerate(node.value):
        item = Mapping(stop, found, f"{where}[{index}]", ("key", "from", "mm"))
        key = item.text("key", required=isinstance(stop, yaml.MappingNode))
        if key is None:
            continue
        if key not in on_line:
            found.add(stop, item.path("key"), f"key {key} is not on line {line}{nearest(key, on_line)}")
        elif key in visited:
            found.add(stop, item.path("key"), f"key {key} is visited twice")
        origin = visited[-1] if visited else None
        if "from" in item.items:
            origin = item.text("from")
            if origin is not None and origin not in visited:
                found.add(item.get("from"), item.path("from"), f"{origin} is not an earlier stop{nearest(origin, visited)}")
        stops.append(RouteStop(key, origin, item.number("mm", low=0, high=5000)))
        visited.append(key)
    missed = [key for key in on_line if key not in visited and not _reached_with(layout, key, visited)]
    if missed:
        found.add(node, where, f"the route of {line} does not visit {', '.join(missed)}")
    return tuple(stops)


def _reached_with(layout: Layout, key: str, visited: list[str]) -> bool:
    """True where a key shares its crosspoint with one the route visits."""
    points = layout.key_by_id[key].crosspoints
    return any(set(layout.keys_at[frozenset(point)]) & set(visited) for point in points)
