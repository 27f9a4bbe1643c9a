"""Each built-in scenario, run headless, gives exactly the findings it expects."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tailwise.layoutfile.library import find_layout
from tailwise.live.events import Finished
from tailwise.live.run import Run, RunSettings
from tailwise.practice.catalogue import list_scenarios, scenario_names

SCENARIOS = {each["name"]: each for each in list_scenarios()}
FIXTURES = Path(__file__).resolve().parents[2] / "fixtures" / "scenarios"


def run(url: str, layout: str, *, every_key_pressed: bool = True) -> dict[str, Any]:
    settings = RunSettings(
        url=f"practice:{url}", layout=find_layout(layout), every_key_pressed=every_key_pressed, progress_hz=0.0
    )
    last = list(Run(settings).events())[-1]
    assert isinstance(last, Finished)
    return last.document


@pytest.mark.parametrize("name", scenario_names())
def test_exactly_what_is_expected_is_found(name: str) -> None:
    scenario = SCENARIOS[name]
    document = run(name, scenario["layout"])
    found = [{field: finding[field] for field in ("kind", "lines", "keys", "place")} for finding in document["findings"]]
    assert found == scenario["expect"]
    untestable = any(each["kind"] == "foreign_voltage" for each in scenario["expect"])
    assert document["verdict"] == ("untestable" if untestable else "faulty" if scenario["expect"] else "sound")


def test_some_keys_pressed_proves_little() -> None:
    document = run(str(FIXTURES / "some-keys.yaml"), "demo-7x6", every_key_pressed=False)
    assert (document["verdict"], document["findings"]) == ("unproven", [])
    assert len(document["coverage"]["untried"]) == 32


def test_nothing_inserted_accuses_no_line() -> None:
    document = run(str(FIXTURES / "nothing-inserted.yaml"), "demo-7x6")
    assert (document["verdict"], document["findings"]) == ("untestable", [])
