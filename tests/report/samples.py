"""An invented run for the report's tests: a broken trace, an intermittent line, an untried key."""

from __future__ import annotations

from typing import Any

from tailwise.layoutfile.library import find_layout
from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Blind, Dropout, Observations, Press
from tailwise.report.facts import ReportFacts, gather

BEYOND = ("A", "CTRL", "Q", "W")


def observations(layout: Layout | None = None) -> Observations:
    layout = layout or find_layout("demo-7x6")
    presses = tuple(
        Press(key.id, 2_000_000 + index * 300_000, 2_110_000 + index * 300_000)
        for index, key in enumerate(layout.keys)
        if key.id not in (*BEYOND, "SPACE")
    )
    return Observations(
        layout=layout,
        presses=presses,
        dropouts=(Dropout(21_000_000, 21_004_000, ("F", "3"), ("A",)), Dropout(24_000_000, 24_000_500, ("F",), ())),
        blind=(Blind(9_000_000, 9_020_000, "lost frames"),),
        marks=(
            Mark(16_000_000, Deed.STILL),
            Mark(20_000_000, Deed.FLEX, zone="fold"),
            Mark(30_000_000, Deed.FLEX, zone="neck"),
        ),
        rest_done=True,
        started=True,
        end_us=40_000_000,
        scan_us=220,
    )


def document(label: str = "KB-0042", **changes: Any) -> dict[str, Any]:
    findings = [
        {
            "kind": "broken_trace",
            "lines": ["R4"],
            "keys": ["A", "CTRL", "Q", "W"],
            "place": {"line": "R4", "after": "E", "before": "W"},
            "steadiness": "steady",
            "probability": 0.93,
            "evidence": [
                "Keys A, CTRL, Q and W of line R4 never closed.",
                "Keys R and E before them closed (frames 812, 840).",
            ],
            "rivals": [{"kind": "dead_contact", "lines": [], "keys": ["Q"], "place": None, "probability": 0.04}],
            "next_step": "Press W again while bending the film beside E.",
            "distance_mm": [170.0, 181.0, 192.0],
        },
        {
            "kind": "intermittent_line",
            "lines": ["C3"],
            "keys": ["0", "3", "F", "SHIFT", "SPACE", "W", "Y"],
            "place": {"line": "C3", "after": None, "before": "Y"},
            "steadiness": "intermittent",
            "probability": 0.71,
            "evidence": ["F and 3 opened together at 21.000 s for 4.0 ms."],
            "rivals": [],
            "next_step": "Hold F and 3 and flex the fold.",
            "zone": "fold",
        },
    ]
    base: dict[str, Any] = {
        "format": "tailwise-findings/1",
        "tool": "tailwise 0.1.0",
        "layout": "demo-7x6",
        "label": label,
        "verdict": "faulty",
        "grade": "failed",
        "findings": findings,
        "coverage": {"keys": 42, "tried": 41, "untried": ["SPACE"], "presses": 37, "miss_bound_95": 1.0},
        "link": {"frames": 2100, "lost": 1, "bad": 1, "gaps": 1},
    }
    return base | changes


def facts(label: str = "KB-0042", layout: Layout | None = None, **changes: Any) -> ReportFacts:
    return gather(observations(layout), document(label, **changes), b"recording bytes", "2026-03-05T10:00:00Z")
