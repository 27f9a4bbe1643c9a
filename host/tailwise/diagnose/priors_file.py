"""A file that overrides the table of priors: YAML, `format: tailwise-priors/1` and any of the table's names."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

from tailwise.diagnose.priors import DEFAULT_PRIORS, Priors
from tailwise.layoutfile.nodes import FileProblems, Mapping, Problem, Problems, compose

FORMAT = "tailwise-priors/1"
LARGEST = 0.9999
SMALLEST = 1e-9
LARGEST_CHANCE = 0.5


def read_priors(path: Path) -> Priors:
    """The table in a file; FileProblems with file, line and key where it cannot be used."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise FileProblems([Problem(str(path), 1, "file", f"cannot be read: {error}")]) from error
    return parse_priors(text, str(path))


def parse_priors(text: str, file: str) -> Priors:
    """The table in a text; what it does not name keeps its default."""
    problems = Problems(file)
    names = [each.name for each in fields(Priors)]
    top = Mapping(compose(text, file), problems, "", ["format", *names])
    if top.text("format", required=True) not in (FORMAT, None):
        problems.add(top.get("format"), "format", f"expected {FORMAT}")
    values: dict[str, float] = {}
    for name in names:
        high = LARGEST if name in ("accuse_above", "crack_growth") else LARGEST_CHANCE
        value = top.number(name, low=SMALLEST, high=high)
        if value is not None:
            values[name] = value
    if problems.found:
        raise FileProblems(sorted(problems.found, key=lambda each: each.line))
    return replace(DEFAULT_PRIORS, **values)
