"""Layout files (tailwise-layout/1) into `Layout`, with every problem of the file in one pass."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import yaml

from tailwise.layoutfile.checks import check_layout
from tailwise.layoutfile.keys import read_keys
from tailwise.layoutfile.nodes import FileProblems, Mapping, Problem, Problems, compose, nearest
from tailwise.layoutfile.parts import read_diodes, read_limits, read_tails, read_target, read_zones
from tailwise.layoutfile.routes import read_routes
from tailwise.layoutfile.sources import read_disagreements, read_sources
from tailwise.model.layout import KeyboardKind, Layout

FORMAT = "tailwise-layout/1"
ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
TOP = (
    "format", "id", "title", "kind", "limits", "rows", "columns", "singles", "tails", "keys", "routes", "diodes", "target",
    "zones", "sources", "disagreements", "notes",
)  # fmt: skip
KEPT = 64
_KNOWN: dict[tuple[str, bool], Layout] = {}  # layouts never change: a folder of recordings reads each text once


def read_layout(path: Path) -> Layout:
    """The layout in a file; FileProblems where it cannot be used, OSError where it cannot be read."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise FileProblems([Problem(str(path), 1, "file", f"not UTF-8 text: {error.reason}")]) from error
    return parse_layout(text, str(path))


def parse_layout(text: str, file: str, *, thorough: bool = True) -> Layout:
    """The layout in a text; `file` is what problems call it.

    FileProblems with everything wrong. `thorough=False` asks only for what is needed to work with the layout (a
    recording that others wrote may carry one without sources or with keys drawn over each other; one of a keyboard that
    nobody described has single lines only and no keys).
    """
    known = _KNOWN.get((text, thorough))
    if known is not None:
        return known
    problems = Problems(file)
    layout = _layout(Mapping(compose(text, file), problems, "", TOP), text, thorough)
    if problems.found:
        raise FileProblems(sorted(problems.found, key=lambda each: (each.line, each.key, each.text)))
    if len(_KNOWN) >= KEPT:
        _KNOWN.pop(next(iter(_KNOWN)), None)
    _KNOWN[text, thorough] = layout
    return layout


def _layout(top: Mapping, text: str, thorough: bool) -> Layout:
    found = top.problems
    if top.text("format", required=True) not in (FORMAT, None):
        found.add(top.get("format"), "format", f"expected {FORMAT}")
    layout_id = top.text("id", required=True) or ""
    if layout_id and not ID.fullmatch(layout_id):
        found.add(top.get("id"), "id", f"{layout_id} is no id: expected small letters, digits and single hyphens between them")
    undescribed = not thorough and bool(top.sequence("singles")) and not top.sequence("keys")
    rows, columns = (_names(top, name, required=True, may_be_empty=undescribed) for name in ("rows", "columns"))
    singles = _names(top, "singles", required=False)
    lines = [*rows, *columns, *singles]
    for name in sorted({name for name in lines if lines.count(name) > 1}):
        found.add(top.get("columns"), "columns", f"line {name} stands in more than one list")
    keys, places = read_keys(top, rows, columns, singles, may_be_empty=undescribed)
    ids = [key.id for key in keys]
    layout = Layout(
        id=layout_id,
        title=top.text("title", required=True) or "",
        kind=_kind(top),
        rows=tuple(rows),
        columns=tuple(columns),
        singles=tuple(singles),
        keys=tuple(keys),
        tails=read_tails(top, lines),
        diodes=read_diodes(top, lines, ids),
        target=read_target(top),
        zones=read_zones(top),
        sources=read_sources(top, required=thorough),
        disagreements=read_disagreements(top, ids),
        limits=read_limits(top),
        notes=top.text("notes") or "",
        text=text,
    )
    layout = replace(layout, routes=read_routes(top, layout))
    check_layout(top, layout, places, thorough)
    return layout


def _kind(top: Mapping) -> KeyboardKind:
    valid = [each.value for each in KeyboardKind]
    kind = top.text("kind") or valid[0]
    if kind not in valid:
        top.problems.add(top.get("kind"), "kind", f"unknown kind {kind}{nearest(kind, valid)}")
        return KeyboardKind.FILM
    return KeyboardKind(kind)


def _names(top: Mapping, name: str, *, required: bool, may_be_empty: bool = False) -> list[str]:
    names: list[str] = []
    for value, node in top.texts(name, required=required):
        if not value.strip():
            top.problems.add(node, name, "a line needs a name")
        elif value in names:
            top.problems.add(node, name, f"line {value} stands twice")
        else:
            names.append(value)
    if required and not may_be_empty and isinstance(given := top.get(name), yaml.SequenceNode) and not given.value:
        top.problems.add(given, name, "name at least one line")
    return names
