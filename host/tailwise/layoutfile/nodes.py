"""YAML with places: every value remembers its line, so that a problem can name file, line and key."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import yaml


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in a file: where it stands and what was expected."""

    file: str
    line: int
    key: str
    text: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.key}: {self.text}"


class FileProblems(ValueError):
    """A file that cannot be used, with all its problems."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = tuple(problems)


@dataclass
class Problems:
    """Collects problems of one file."""

    file: str
    found: list[Problem] = field(default_factory=list)

    def add(self, node: yaml.Node | None, key: str, text: str) -> None:
        """Note a problem at a node."""
        line = 1 if node is None else node.start_mark.line + 1
        self.found.append(Problem(self.file, line, key, text))


def nearest(name: str, valid: Iterable[str]) -> str:
    """', did you mean X?' for the nearest valid name, or the list of valid names where it is short."""
    names = [str(each) for each in valid]
    close = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
    if close:
        return f", did you mean {close[0]}?"
    return f", expected one of {', '.join(names)}" if 0 < len(names) <= 12 else ""


def compose(text: str, file: str) -> yaml.Node:
    """The root node of a YAML text; FileProblems where it is not YAML or empty."""
    try:
        node = yaml.compose(text, Loader=yaml.SafeLoader)
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line = mark.line + 1 if mark is not None else 1
        what = getattr(error, "problem", None) or str(error).splitlines()[0]
        raise FileProblems([Problem(file, line, "yaml", f"not readable as YAML: {what}")]) from error
    except RecursionError as error:
        raise FileProblems([Problem(file, 1, "yaml", "lists or mappings are nested too deeply")]) from error
    if node is None:
        raise FileProblems([Problem(file, 1, "yaml", "the file is empty")])
    return node


def plain(node: yaml.Node) -> Any:
    """The value of a scalar node as YAML's safe types; None for a list or a mapping."""
    if not isinstance(node, yaml.ScalarNode):
        return None
    loader = yaml.SafeLoader("")
    try:
        return loader.construct_object(node)
    except (yaml.YAMLError, ValueError, LookupError, TypeError, AttributeError):  # an explicit tag that its text does not fit
        return None
    finally:
        loader.dispose()


def words(node: yaml.Node) -> str | None:
    """The text of a scalar as written (so that `1` and `on` stay what the writer typed); None for other nodes."""
    if not isinstance(node, yaml.ScalarNode) or (node.tag == "tag:yaml.org,2002:null" and node.style is None):
        return None
    return str(node.value)


class Mapping:
    """A mapping node: fields asked for by name, unknown ones reported with the nearest valid name."""

    def __init__(self, node: yaml.Node, problems: Problems, where: str, valid: Iterable[str] | None = None) -> None:
        self.node = node
        self.where = where
        self.problems = problems
        self.items: dict[str, yaml.Node] = {}
        self.key_nodes: dict[str, yaml.Node] = {}
        if not isinstance(node, yaml.MappingNode):
            problems.add(node, where or "file", "expected a mapping of names to values")
            return
        allowed = None if valid is None else list(valid)
        for key_node, value in node.value:
            name = words(key_node) or ""
            if name in self.items:
                problems.add(key_node, self.path(name), "stands twice")
            if allowed is not None and name not in allowed:
                problems.add(key_node, self.path(name), f"unknown name{nearest(name, allowed)}")
            self.items[name] = value
            self.key_nodes[name] = key_node

    def path(self, name: str) -> str:
        """The key as a person finds it in the file."""
        return f"{self.where}.{name}" if self.where else name

    def get(self, name: str) -> yaml.Node | None:
        """The node of a field, None where absent or null."""
        node = self.items.get(name)
        if node is not None and isinstance(node, yaml.ScalarNode) and words(node) is None:
            return None
        return node

    def text(self, name: str, *, required: bool = False) -> str | None:
        """A text field."""
        node = self.get(name)
        if node is None:
            if required:
                self.problems.add(self.node, self.path(name), "missing")
            return None
        value = words(node)
        if value is None:
            self.problems.add(node, self.path(name), "expected a text")
        elif not value.strip():
            self.problems.add(node, self.path(name), "is empty")
        return value

    def number(self, name: str, *, low: float | None = None, high: float | None = None) -> float | None:
        """A finite number in low..high."""
        node = self.get(name)
        return None if node is None else as_number(node, self.problems, self.path(name), low, high)

    def flag(self, name: str, default: bool) -> bool:
        """true or false."""
        node = self.get(name)
        if node is None:
            return default
        value = plain(node)
        if not isinstance(value, bool):
            self.problems.add(node, self.path(name), "expected true or false")
            return default
        return value

    def sequence(self, name: str, *, required: bool = False) -> list[yaml.Node]:
        """The nodes of a list."""
        node = self.get(name)
        if node is None:
            if required:
                self.problems.add(self.node, self.path(name), "missing")
            return []
        if not isinstance(node, yaml.SequenceNode):
            self.problems.add(node, self.path(name), "expected a list")
            return []
        return list(node.value)

    def texts(self, name: str, *, required: bool = False) -> list[tuple[str, yaml.Node]]:
        """A list of texts, each with its node."""
        result = []
        for index, node in enumerate(self.sequence(name, required=required)):
            value = words(node)
            if value is None:
                self.problems.add(node, f"{self.path(name)}[{index}]", "expected a text")
            else:
                result.append((value, node))
        return result


def as_number(
    node: yaml.Node, problems: Problems, key: str, low: float | None = None, high: float | None = None
) -> float | None:
    """A finite number in low..high, or None with a problem noted."""
    value = plain(node)
    if isinstance(value, bool) or not isinstance(value, int | float):
        problems.add(node, key, "expected a number")
        return None
    try:
        number = float(value)
    except OverflowError:
        number = float("inf")
    if number != number or number in (float("inf"), float("-inf")):
        problems.add(node, key, "expected a finite number")
        return None
    if (low is not None and number < low) or (high is not None and number > high):
        problems.add(
            node, key, f"{number:g} is outside {'' if low is None else f'{low:g}'} .. {'' if high is None else f'{high:g}'}"
        )
        return None
    return number
