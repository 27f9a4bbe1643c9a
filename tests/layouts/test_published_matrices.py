"""Every shipped layout of a real keyboard against the published tables it names, key by key.

The tables under data/ were taken from each source on their own; `differ` names keys on which a source disagrees (the layout
must say so), `not_in` the keys a source does not list.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from tailwise.layoutfile.library import find_layout, shipped_ids
from tailwise.model.layout import Layout

DATA = Path(__file__).parent / "data"
FILES = sorted(DATA.glob("*.yaml"))


def load(path: Path) -> Any:
    """The data of one file."""
    return yaml.safe_load(path.read_text(encoding="utf-8"))


def crosspoints(table: Any, layout: Layout) -> dict[str, tuple[str, str]]:
    """Key -> (row, column) of one published table."""
    points: dict[str, tuple[str, str]] = {}
    for row, cells in table["matrix"].items():
        assert len(cells) == len(layout.columns), row
        for column, cell in zip(layout.columns, cells, strict=True):
            for key in cell if isinstance(cell, list) else [] if cell is None else [cell]:
                assert key not in points, f"{key} twice"
                points[key] = (row, column)
    for key, (row, column) in table.get("others", {}).items():
        points[key] = (row, column)
    return points


def test_every_real_layout_has_its_tables() -> None:
    assert {path.stem for path in FILES} == {name for name in shipped_ids() if not name.startswith("demo-")}


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_at_least_two_sources(path: Path) -> None:
    data = load(path)
    assert data["layout"] == path.stem
    sources = [table["source"] for table in data["tables"]]
    assert len(sources) >= 2
    assert len({source.split(":")[0] for source in sources}) == len(sources)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_layout_holds_what_its_sources_say(path: Path) -> None:
    data = load(path)
    layout = find_layout(path.stem)
    differ = set(data.get("differ", ()))
    explained = {key for each in layout.disagreements for key in each.keys}
    assert differ <= explained
    in_matrix = {key.id for key in layout.keys if key.row in layout.rows and key.column in layout.columns}
    absent = data.get("not_in", [[] for _ in data["tables"]])
    for table, missing in zip(data["tables"], absent, strict=True):
        published = crosspoints(table, layout)
        for key, point in published.items():
            if key not in differ:
                assert layout.key_by_id[key].crosspoints[:1] == (point,), (key, table["source"])
        assert in_matrix <= set(published) | set(missing) | differ, table["source"]
    assert not set.intersection(*map(set, absent)) if absent else True


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_no_crosspoint_without_a_published_key(path: Path) -> None:
    """Where a table names a key, the layout has it: nothing of a source is dropped silently."""
    data = load(path)
    layout = find_layout(path.stem)
    for table in data["tables"]:
        assert set(crosspoints(table, layout)) <= set(layout.key_by_id), table["source"]
