"""Stored recordings give what is stored beside them, byte for byte the same twice."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tailwise.judge.document import to_bytes
from tailwise.judge.judge import judge_recording
from tailwise.recording.reader import read_recording
from tests.judge.test_document import SCHEMA

FOLDER = Path(__file__).parents[2] / "fixtures" / "recordings"
NAMES = sorted(path.stem for path in FOLDER.glob("*.twrec"))
FOR_PEOPLE = ("probability", "evidence", "rivals", "next_step")


def without_words(document: dict[str, Any]) -> dict[str, Any]:
    bare = {name: value for name, value in document.items() if name != "tool"}
    bare["findings"] = [
        {name: value for name, value in finding.items() if name not in FOR_PEOPLE} for finding in document["findings"]
    ]
    return bare


def test_the_page_lists_every_recording() -> None:
    page = (FOLDER / "README.md").read_text(encoding="utf-8")
    assert all(f"| {name} |" in page for name in NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_a_stored_recording_gives_what_is_stored_beside_it(name: str) -> None:
    recording = read_recording(FOLDER / f"{name}.twrec")
    expected = json.loads((FOLDER / f"{name}.expected.json").read_text(encoding="utf-8"))
    document = judge_recording(recording)
    jsonschema.validate(document, SCHEMA)
    assert list(recording.damage) == expected["damage"]
    assert without_words(document) == expected["document"]
    assert to_bytes(document) == to_bytes(judge_recording(read_recording(FOLDER / f"{name}.twrec")))
