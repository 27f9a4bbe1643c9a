"""Scenarios that say nothing about the keyboard must not be taken for sound, nor for faulty."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tailwise.layoutfile.library import find_layout
from tailwise.live.events import Finished
from tailwise.live.run import Run, RunSettings

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures" / "scenarios"


def run(url: str, layout: str, *, every_key_pressed: bool = True) -> dict[str, Any]:
    settings = RunSettings(
        url=f"practice:{url}", layout=find_layout(layout), every_key_pressed=every_key_pressed, progress_hz=0.0
    )
    last = list(Run(settings).events())[-1]
    assert isinstance(last, Finished)
    return last.document


def test_some_keys_pressed_proves_little() -> None:
    document = run(str(FIXTURES / "some-keys.yaml"), "demo-7x6", every_key_pressed=False)
    assert (document["verdict"], document["findings"]) == ("unproven", [])
    assert len(document["coverage"]["untried"]) == 32


def test_nothing_inserted_accuses_no_line() -> None:
    document = run(str(FIXTURES / "nothing-inserted.yaml"), "demo-7x6")
    assert (document["verdict"], document["findings"]) == ("untestable", [])
