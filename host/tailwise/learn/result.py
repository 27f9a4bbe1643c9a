"""From what was learned to a layout file; what presses cannot teach (routes, target, tails) is left open."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from tailwise.learn.learner import Learner
from tailwise.learn.sides import Sides, find_sides
from tailwise.learn.sighting import Joint
from tailwise.model.layout import Diode, Key, RouteStop


@dataclass(frozen=True)
class Learned:
    """A learned matrix: keys with their lines, names for board lines, diodes, and what stayed open."""

    keys: tuple[Key, ...]
    rows: tuple[str, ...]
    columns: tuple[str, ...]
    singles: tuple[str, ...]
    board_line: dict[str, int]
    diodes: tuple[Diode, ...]
    open_points: tuple[str, ...]

    def with_keys(self, keys: Sequence[Key]) -> Learned:
        """The same with the keys of a merge, whose new lines count as columns where they are of no known side."""
        known = {*self.rows, *self.columns, *self.singles}
        rows = sorted({key.row for key in keys if key.row is not None} - known)
        columns = sorted({key.column for key in keys if key.column is not None} - known - set(rows))
        missing = [key.id for key in keys if key.row is None]
        points = [point for point in self.open_points if not point.startswith(("not found", "not pressed"))]
        if missing:
            points.append(f"not found in either specimen: {', '.join(missing)}")
        return replace(
            self, keys=tuple(keys), rows=(*self.rows, *rows), columns=(*self.columns, *columns), open_points=tuple(points)
        )


def learned(drawn: Sequence[Key], learner: Learner) -> Learned:
    """The matrix as learned so far."""
    joints = learner.joints()
    sides = find_sides(joint.lines for contacts in joints.values() for joint in contacts)
    name = {line: f"R{place}" for place, line in enumerate(sides.rows, start=1)}
    name |= {line: f"C{place}" for place, line in enumerate(sides.columns, start=1)}
    name |= {line: f"S{place}" for place, line in enumerate(sides.singles, start=1)}
    keys = []
    for key in drawn:
        points = [_ends(joint, sides, name) for joint in joints.get(key.id, ())]
        if not points:
            keys.append(key)
            continue
        keys.append(replace(key, row=points[0][0], column=points[0][1], also=tuple(points[1:])))
    claims: dict[tuple[str | None, str | None], list[str]] = {}
    for key in keys:
        if key.row is not None:
            claims.setdefault((key.row, key.column), []).append(key.id)
    shared = {key_id for ids in claims.values() if len(ids) > 1 for key_id in ids}
    return Learned(
        keys=tuple(replace(key, shared=key.id in shared) for key in keys),
        rows=tuple(name[line] for line in sides.rows),
        columns=tuple(name[line] for line in sides.columns),
        singles=tuple(name[line] for line in sides.singles),
        board_line={label: line for line, label in sorted(name.items())},
        diodes=_diodes(joints, sides, name),
        open_points=_open_points(keys, learner, sides, name, joints),
    )


def _ends(joint: Joint, sides: Sides, name: Mapping[int, str]) -> tuple[str, str]:
    a, b = joint.lines
    if a in sides.columns or b in sides.rows:
        a, b = b, a
    return name[a], name[b]


def _diodes(joints: Mapping[str, tuple[Joint, ...]], sides: Sides, name: Mapping[int, str]) -> tuple[Diode, ...]:
    """One-way lines where some lines conduct both ways; one-way keys otherwise."""
    one_way = {key: contacts[0].one_way for key, contacts in joints.items() if len(contacts) == 1}
    if not any(one_way.values()):
        return ()
    lines: dict[int, set[str | None]] = {}
    for pair, contacts in ((one_way[key], joints[key]) for key in one_way):
        for line in contacts[0].lines:
            lines.setdefault(line, set()).add(None if pair is None else "to_tail" if pair[0] == line else "from_tail")
    both_ways_somewhere = any(pair is None for pair in one_way.values())
    if both_ways_somewhere:
        ways = {line: next(iter(found)) for line, found in lines.items() if len(found) == 1 and None not in found}
        explained = all(pair is None or pair[0] in ways or pair[1] in ways for pair in one_way.values())
        if explained:
            side = sides.rows if any(line in sides.rows for line in ways) else sides.columns
            return tuple(Diode(name[line], None, str(way)) for line, way in sorted(ways.items()) if line in side)
    return tuple(
        Diode(None, key, "row" if pair[0] in sides.rows else "column")
        for key, pair in sorted(one_way.items())
        if pair is not None
    )


def _open_points(
    keys: Sequence[Key], learner: Learner, sides: Sides, name: Mapping[int, str], joints: Mapping[str, tuple[Joint, ...]]
) -> tuple[str, ...]:
    points = ["routes, tails and the computer's inputs cannot be learned from presses"]
    missing = [key.id for key in keys if key.row is None]
    silent = [key for key in missing if key in learner.not_found]
    if silent:
        points.append(f"not found although pressed: {', '.join(silent)}")
    unpressed = [key for key in missing if key not in learner.not_found]
    if unpressed:
        points.append(f"not pressed: {', '.join(unpressed)}")
    if sides.guessed:
        points.append(f"row or column is a guess for: {', '.join(name[line] for line in sides.guessed)}")
    if joints and all(joint.one_way for contacts in joints.values() for joint in contacts):
        points.append("every contact conducts one way: the diodes may stand on the keys or on whole lines")
    return tuple(points)


def layout_text(
    result: Learned,
    layout_id: str,
    title: str,
    kind: str,
    specimen: str,
    routes: Mapping[str, Sequence[RouteStop]] | None = None,
) -> str:
    """A layout file's text; `specimen` says which keyboard it was learned from, routes are marked as assumed."""
    quote = json.dumps
    out = ["format: tailwise-layout/1", f"id: {quote(layout_id)}", f"title: {quote(title)}", f"kind: {kind}"]
    out += [f"rows: {_names(result.rows)}", f"columns: {_names(result.columns)}"]
    if result.singles:
        out.append(f"singles: {_names(result.singles)}")
    out.append("keys:")
    for key in result.keys:
        at = key.position
        fields = [f"id: {quote(key.id)}", f"legend: {quote(key.legend)}"]
        if key.row is not None:
            fields += [f"row: {key.row}", f"column: {key.column}"]
        if key.also:
            fields.append("also: [" + ", ".join(f"[{row}, {column}]" for row, column in key.also) + "]")
        if key.shared:
            fields.append("shared: true")
        fields.append(f"position: [{at.x:g}, {at.y:g}, {at.width:g}, {at.height:g}]")
        out.append(f"  - {{{', '.join(fields)}}}")
    if result.diodes:
        out.append("diodes:")
        for diode in result.diodes:
            way = f"line: {diode.line}, conducts" if diode.line is not None else f"key: {quote(diode.key)}, cathode"
            out.append(f"  - {{{way}: {diode.conducts}}}")
    if routes:
        out.append("routes:")
        for line, stops in routes.items():
            out.append(f"  {line}:")
            out += [f"    - {{key: {quote(stop.key)}{'' if stop.mm is None else f', mm: {stop.mm:g}'}}}" for stop in stops]
    out.append("notes: " + quote("; ".join(result.open_points)))
    out += ["sources:", f"  - {{facts: matrix, source: {quote('learned from presses on ' + specimen)}}}"]
    if routes:
        out.append("  - {facts: routes, source: proposed from the drawing and looked through by the user, assumed: true}")
    out.append("")
    return "\n".join(out)


def wiring_text(result: Learned) -> str:
    """A wiring file: which line stood on which board line while learning."""
    return "".join(f"{name}: {number}\n" for name, number in sorted(result.board_line.items(), key=lambda item: item[1]))


def _names(names: Sequence[str]) -> str:
    return "[" + ", ".join(names) + "]"
