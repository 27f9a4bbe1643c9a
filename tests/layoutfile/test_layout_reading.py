"""What a layout file says is what the layout holds."""

from __future__ import annotations

import pytest

from tailwise.layoutfile.library import find_layout, shipped_folder
from tailwise.layoutfile.limits import limits_of
from tailwise.layoutfile.nodes import FileProblems
from tailwise.layoutfile.reader import parse_layout
from tailwise.layoutfile.to_json import layout_json
from tailwise.model.layout import Disagreement, Position

TEXT = """
format: tailwise-layout/1
id: sample
title: A sample
kind: switches
rows: [R1, R2]
columns: [C1, C2]
singles: [NMI, GND]
tails: [{name: J1, contacts: [R1, R2, null, C1, C2, NMI, GND]}]
keys:
  - {id: A, legend: a, shifted: b, row: R1, column: C1, position: [0, 0], iso: C01, hid: 4}
  - {id: LSHIFT, row: R1, column: C2, position: [1, 0, 2, 1], shared: true}
  - {id: RSHIFT, row: R1, column: C2, position: [4, 0], rotation: 15, shared: true}
  - {id: LEFT, row: R2, column: C1, position: [5.5, 0], also: [[R1, C2]], shared: true}
  - {id: RESTORE, row: NMI, column: GND, position: [7, 0], note: on a wire of its own}
  - {id: POWER, position: [9, 0], locking: true}
routes:
  R1: [{key: A, mm: 10}, {key: LSHIFT}, {key: LEFT, from: A, mm: 4}]
sources:
  - {facts: "matrix, tails", source: invented}
  - {facts: routes, source: drawn from the positions, assumed: true}
disagreements:
  - {about: "one says b, one says c", taken: b, keys: [A]}
"""


def test_every_field_arrives() -> None:
    layout = parse_layout(TEXT, "sample.yaml")
    keys = layout.key_by_id
    assert layout.singles == ("NMI", "GND")
    assert layout.tails is not None and layout.tails[0].contacts[2] is None
    assert keys["A"].crosspoints == (("R1", "C1"),)
    assert keys["LEFT"].crosspoints == (("R2", "C1"), ("R1", "C2"))
    assert keys["RSHIFT"].position == Position(4, 0, 1, 1, 15)
    assert keys["POWER"].crosspoints == () and keys["POWER"].locking
    assert keys["RESTORE"].note == "on a wire of its own"
    assert layout.keys_at[frozenset(("R1", "C2"))] == ("LSHIFT", "RSHIFT", "LEFT")
    assert layout.disagreements == (Disagreement("one says b, one says c", "b", ("A",)),)
    assert layout.routes_assumed
    assert limits_of(layout).most_ohm == 200


def test_a_route_may_leave_out_a_key_on_a_visited_crosspoint() -> None:
    layout = parse_layout(TEXT, "sample.yaml")
    assert layout.routes is not None
    assert [(stop.key, stop.origin, stop.mm) for stop in layout.routes["R1"]] == [
        ("A", None, 10), ("LSHIFT", "A", None), ("LEFT", "A", 4),
    ]  # fmt: skip


def test_the_printed_object_has_exactly_the_promised_fields() -> None:
    shown = layout_json(parse_layout(TEXT, "sample.yaml"))
    assert list(shown) == [
        "id", "title", "rows", "columns", "keys", "tails", "diodes", "routes", "zones", "target", "sources",
    ]  # fmt: skip
    assert shown["keys"][1] == {
        "id": "LSHIFT", "legend": "LSHIFT", "row": "R1", "column": "C2",
        "position": {"x": 1.0, "y": 0.0, "width": 2.0, "height": 1.0},
    }  # fmt: skip
    assert shown["tails"] == [{"name": "J1", "lines": ["R1", "R2", "C1", "C2", "NMI", "GND"]}]
    assert shown["target"] is None
    assert shown["routes"]["R1"][2] == {"key": "LEFT", "from": "A", "mm": 4.0}


def test_a_recording_may_carry_a_layout_without_sources() -> None:
    bare = TEXT[: TEXT.index("sources:")].replace("[4, 0]", "[2, 0]")
    with pytest.raises(FileProblems, match="sources: missing"):
        parse_layout(bare, "sample.yaml")
    assert parse_layout(bare, "sample.yaml", thorough=False).id == "sample"


def test_an_unknown_id_names_the_nearest() -> None:
    with pytest.raises(FileProblems, match="did you mean demo-7x6"):
        find_layout("demo-7x5")


def test_a_path_is_as_good_as_an_id() -> None:
    assert find_layout(str(shipped_folder() / "demo-8x8.yaml")) == find_layout("demo-8x8")
