"""Wiring files: layout line -> line number of the board, as a YAML mapping; for harnesses wired otherwise than plain."""

from __future__ import annotations

from pathlib import Path

from tailwise.harness.wiring import Wiring, WiringError, checked_wiring
from tailwise.layoutfile.nodes import FileProblems, Mapping, Problem, Problems, compose
from tailwise.model.layout import Layout
from tailwise.wire.messages import MAX_LINES
from tailwise.words import live as words


def read_wiring(path: Path, layout: Layout) -> Wiring:
    """The wiring in a file; FileProblems with every problem of it, OSError where it cannot be read."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise FileProblems([Problem(str(path), 1, "file", words.not_text(error.reason))]) from error
    problems = Problems(str(path))
    top = Mapping(compose(text, str(path)), problems, "", layout.lines)
    board_line: dict[str, int] = {}
    for line in top.items:
        number = top.number(line, low=0, high=MAX_LINES - 1)
        if number is None:
            continue
        if number != int(number):
            problems.add(top.get(line), line, words.WHOLE_NUMBER)
        board_line[line] = int(number)
    if problems.found:
        raise FileProblems(problems.found)
    try:
        return checked_wiring(layout, board_line)
    except WiringError as error:
        raise FileProblems([Problem(str(path), 1, "wiring", str(error))]) from error
