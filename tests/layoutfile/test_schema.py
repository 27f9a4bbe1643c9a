"""The JSON Schema for editors agrees with the reader: what the reader takes, the schema takes."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from tailwise.layoutfile.library import shipped_folder, shipped_ids
from tailwise.layoutfile.nodes import FileProblems
from tailwise.layoutfile.reader import parse_layout

BROKEN = Path(__file__).resolve().parents[2] / "fixtures" / "layouts-broken"
VALIDATOR = jsonschema.Draft202012Validator(json.loads((shipped_folder() / "schema.json").read_text(encoding="utf-8")))
NEEDS_THE_WHOLE_FILE = {"doubled-crosspoints", "overlapping-keys", "missing-sources"}  # no schema can express these

SMALL: dict[str, Any] = {
    "format": "tailwise-layout/1",
    "id": "small",
    "title": "Small",
    "kind": "pads",
    "limits": {"good_ohm": 100, "most_ohm": 900, "bounce_ms": 5},
    "rows": ["R1", "R2"],
    "columns": ["C1"],
    "singles": ["GND"],
    "tails": [{"name": "J1", "pitch_mm": 2.54, "contacts": ["R1", "R2", None, "C1", "GND"]}],
    "keys": [
        {"id": "A", "legend": "A", "shifted": "!", "row": "R1", "column": "C1", "position": [0, 0], "iso": "C01", "hid": 4},
        {"id": "B", "row": "R2", "column": "C1", "position": [1.5, 0, 1.5, 1], "rotation": 3, "locking": True, "shared": True},
        {"id": "C", "row": "R2", "column": "C1", "position": [4, 0], "also": [["R1", "GND"]], "shared": True, "note": "two"},
    ],
    "routes": {"R1": [{"key": "A", "mm": 3}, {"key": "C"}], "R2": [{"key": "B", "from": None}]},
    "diodes": [{"line": "R1", "conducts": "to_tail"}, {"key": "B", "cathode": "row"}],
    "target": {"supply_v": 5, "pullup_ohm": 10000, "vil_v": 0.8, "vol_v": 0.1, "diode_v": 0, "about": "invented"},
    "zones": [{"name": "tail", "reachable": False}],
    "sources": [{"facts": "everything", "source": "invented", "checked_against": "nothing", "assumed": True}],
    "disagreements": [{"about": "a sign", "taken": "the first", "keys": ["A"]}],
    "notes": "none",
}  # fmt: skip
VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(-3, 300), st.sampled_from(["A", "R1", "C1", "x y", "", " ", "film", "row", "C01"]),
    st.lists(st.sampled_from(["A", "R1", 1, None]), max_size=3), st.just({}), st.just({"key": "A"}),
)  # fmt: skip


def spots(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The path of everything inside a value."""
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *(spot for name, each in inside for spot in spots(each, (*path, name)))]


def accepted(data: Any) -> bool:
    """Whether the reader takes the data."""
    try:
        parse_layout(yaml.safe_dump(data), "sample.yaml")
    except FileProblems:
        return False
    return True


@pytest.mark.parametrize("layout_id", shipped_ids())
def test_every_shipped_layout_fits_the_schema(layout_id: str) -> None:
    data = yaml.safe_load((shipped_folder() / f"{layout_id}.yaml").read_text(encoding="utf-8"))
    assert [error.message for error in VALIDATOR.iter_errors(data)] == []


@pytest.mark.parametrize("path", sorted(BROKEN.glob("*.yaml")), ids=lambda path: path.stem)
def test_the_schema_refuses_broken_samples(path: Path) -> None:
    try:
        data = yaml.safe_load(path.read_text(encoding="utf-8"))
    except yaml.YAMLError:
        return  # no schema sees what is not YAML
    assert VALIDATOR.is_valid(data) == (path.stem in NEEDS_THE_WHOLE_FILE)


def test_a_file_with_every_field_is_taken_by_both() -> None:
    assert accepted(SMALL)
    assert VALIDATOR.is_valid(SMALL)


@settings(deadline=None)
@given(spot=st.sampled_from(spots(SMALL)[1:]), value=VALUES)
def test_what_the_reader_takes_the_schema_takes(spot: tuple[Any, ...], value: Any) -> None:
    data = copy.deepcopy(SMALL)
    place: Any = data
    for step in spot[:-1]:
        place = place[step]
    place[spot[-1]] = value
    if accepted(data):
        assert [error.message for error in VALIDATOR.iter_errors(data)] == []
