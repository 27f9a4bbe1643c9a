"""No input makes the reader fail in any other way than with the file's problems."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tailwise.layoutfile.library import shipped_folder
from tailwise.layoutfile.nodes import FileProblems
from tailwise.layoutfile.reader import parse_layout, read_layout

DEMO = (shipped_folder() / "demo-7x6.yaml").read_text(encoding="utf-8")
PIECES = (
    "rows", "columns", "keys", ":", " ", "\n", "- ", "{", "}", "[", "]", "id", "R1", "C1", '"', "&a", "*a", "!!int", "!!bool x",
    "!!timestamp y", "!!float ''", "!!set", "?", "|", "1e999", ".nan", "0x", "1" * 400, "format: tailwise-layout/1", "position",
    "also", "routes", "tails", "contacts", "hid", "null", "~", "\t", "\x00", "é",
)  # fmt: skip


def read(text: str) -> None:
    """Read a text; its problems are the only failure allowed, and each names a line of it."""
    try:
        parse_layout(text, "sample.yaml")
    except FileProblems as error:
        assert error.problems
        for problem in error.problems:
            assert 1 <= problem.line <= text.count("\n") + 2
            assert problem.text


@settings(deadline=None)
@given(st.lists(st.sampled_from(PIECES), max_size=40).map("".join))
@example("keys: &a [*a]")
@example("rows: !!omap [1]")
@example("keys: [{id: A, position: [!!timestamp x, !!bool q]}]")
def test_any_text(text: str) -> None:
    read(text)


def test_nesting_without_end() -> None:
    with pytest.raises(FileProblems, match="nested too deeply"):
        parse_layout("[" * 5000, "sample.yaml")


@settings(deadline=None)
@given(st.randoms(use_true_random=False), st.integers(1, 6))
def test_a_damaged_layout(rng: random.Random, hits: int) -> None:
    text = DEMO
    for _ in range(hits):
        at = rng.randrange(len(text))
        text = text[:at] + rng.choice(PIECES) + text[at + rng.randrange(12) :]
    read(text)


@settings(deadline=None)
@given(st.binary(max_size=60))
def test_any_bytes(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path: Path = tmp_path_factory.mktemp("bytes") / "sample.yaml"
    path.write_bytes(data)
    with pytest.raises(FileProblems):
        read_layout(path)
