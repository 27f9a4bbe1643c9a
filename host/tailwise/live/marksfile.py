"""Marks files: what an operator did and when, as a YAML list, checked against the layout."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import yaml

from tailwise.layoutfile.nodes import FileProblems, Mapping, Problem, Problems, compose, nearest
from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.words import live as words

FIELDS = ("at", "do", "key", "zone", "tail", "text")
LATEST_S = 1e7
NEEDS_KEY = (Deed.PRESS, Deed.HOLD, Deed.RELEASE)


def read_marks(path: Path, layout: Layout) -> tuple[Mark, ...]:
    """The marks in a file, by time; FileProblems with every problem of it, OSError where it cannot be read."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise FileProblems([Problem(str(path), 1, "file", words.not_text(error.reason))]) from error
    return parse_marks(text, str(path), layout)


def parse_marks(text: str, file: str, layout: Layout) -> tuple[Mark, ...]:
    """The marks in a text; `file` is what problems call it."""
    problems = Problems(file)
    root = compose(text, file)
    marks: list[Mark] = []
    if isinstance(root, yaml.SequenceNode):
        for index, node in enumerate(root.value):
            mark = _mark(Mapping(node, problems, f"[{index}]", FIELDS), layout)
            if mark is not None:
                marks.append(mark)
    else:
        problems.add(root, "file", words.MARKS_EXPECTED)
    if problems.found:
        raise FileProblems(sorted(problems.found, key=lambda each: each.line))
    return tuple(sorted(marks, key=lambda mark: mark.at_us))


def _mark(item: Mapping, layout: Layout) -> Mark | None:
    """One mark, or None with its problems noted."""
    found = item.problems
    before = len(found.found)
    if not isinstance(item.node, yaml.MappingNode):
        return None
    at = item.number("at", low=0, high=LATEST_S)
    if item.get("at") is None:
        found.add(item.node, item.path("at"), words.MISSING)
    said = item.text("do", required=True)
    deed = None
    if said is not None:
        try:
            deed = Deed(said)
        except ValueError:
            found.add(item.get("do"), item.path("do"), words.unknown_deed(said, nearest(said, [each.value for each in Deed])))
    key = _known(item, "key", layout.key_by_id)
    zone = _known(item, "zone", [each.name for each in layout.zones])
    tail = _known(item, "tail", [each.name for each in layout.tails or ()])
    if deed in NEEDS_KEY and item.get("key") is None:
        found.add(item.node, item.path("key"), words.needs_key(deed))
    if len(found.found) > before or at is None or deed is None:
        return None
    return Mark(round(at * 1e6), deed, key, zone, tail, item.text("text"))


def _known(item: Mapping, name: str, valid: Iterable[str]) -> str | None:
    """A name the layout must have."""
    value = item.text(name)
    names = list(valid)
    if value is not None and value not in names:
        item.problems.add(item.get(name), item.path(name), words.not_in_layout(name, value, nearest(value, names)))
    return value
