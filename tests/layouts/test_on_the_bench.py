"""Every shipped layout on the practice bench: an open line and a dead key elsewhere are both found, nothing else is."""

from __future__ import annotations

from pathlib import Path

import pytest

from tailwise.layoutfile.library import find_layout, shipped_ids
from tailwise.live.events import Finished
from tailwise.live.run import Run, RunSettings
from tailwise.model.layout import Layout


def an_open_line(layout: Layout) -> str:
    """The third column."""
    return layout.columns[2]


def a_dead_key(layout: Layout, open_line: str) -> str:
    """A key in the middle of those that are alone on their crosspoint, off the open line and with fellows on both lines."""
    fit = [
        key.id
        for key in layout.keys
        if key.row is not None
        and key.column is not None
        and open_line not in (key.row, key.column)
        and not (key.shared or key.also)
        and min(len(layout.keys_on[key.row]), len(layout.keys_on[key.column])) > 3
    ]
    return fit[len(fit) // 2]


@pytest.mark.parametrize("layout_id", shipped_ids())
def test_an_open_line_and_a_dead_key_are_found(layout_id: str, tmp_path: Path) -> None:
    layout = find_layout(layout_id)
    line = an_open_line(layout)
    key = a_dead_key(layout, line)
    faults = f'  - {{kind: open_line, line: "{line}"}}\n  - {{kind: dead_contact, key: "{key}"}}\n'
    path = tmp_path / "two-faults.yaml"
    path.write_text(
        f"format: tailwise-scenario/1\nname: two-faults\nlayout: {layout_id}\nstory: two faults\nseed: 5\n"
        f"faults:\n{faults}operator:\n  - {{press: all, rounds: 1}}\nexpect:\n{faults}",
        encoding="utf-8",
    )
    settings = RunSettings(url=f"practice:{path}", layout=layout, every_key_pressed=True, progress_hz=0.0)
    last = list(Run(settings).events())[-1]
    assert isinstance(last, Finished)
    found = {(each["kind"], *each["lines"], *each["keys"]) for each in last.document["findings"]}
    assert found == {("dead_contact", key), ("open_line", line, *sorted(layout.keys_on[line]))}
