from __future__ import annotations

from typing import Any

import pytest

from tailwise.layoutfile.library import find_layout
from tailwise.model.fault import FaultKind
from tailwise.tui.verdictpage import verdict_page
from tailwise.words import verdictpage as words

LAYOUT = find_layout("demo-7x6")


def findings_document(**changes: Any) -> dict[str, Any]:
    document: dict[str, Any] = {
        "format": "tailwise-findings/1",
        "tool": "tailwise 0",
        "layout": LAYOUT.id,
        "label": "shelf 3",
        "verdict": "faulty",
        "grade": "",
        "findings": [
            {
                "kind": "broken_trace",
                "lines": ["R1"],
                "keys": ["1", "2", "3"],
                "place": {"line": "R1", "after": "4", "before": "3"},
                "steadiness": "steady",
                "probability": 0.912,
                "evidence": ["3, 2 and 1 stayed silent", "6, 5 and 4 answered"],
                "rivals": [{"kind": "dead_contact", "lines": [], "keys": ["3"], "place": None, "probability": 0.05}],
                "next_step": "Measure from the tail to key 3.",
                "zone": "neck",
                "distance_mm": [200.0, 250.0, 301.0],
            }
        ],
        "coverage": {"keys": 42, "tried": 41, "untried": ["SPACE"], "presses": 60, "miss_bound_95": 0.95},
        "link": {"frames": 900, "lost": 2, "bad": 1, "gaps": 1},
    }
    return document | changes


def page(width: int = 76, **changes: Any) -> str:
    return verdict_page(findings_document(**changes), LAYOUT, width, plain=True).plain


def test_a_finding_says_what_where_how_sure_why_what_else_and_what_next() -> None:
    text = page()
    for part in (
        "FAULTY",
        "shelf 3",
        words.KINDS["broken_trace"],
        "between key 4 and key 3",
        "very likely, 91 %",
        "about 250 mm",
        "neck",
        "3, 2 and 1 stayed silent",
        "6, 5 and 4 answered",
        "One key never closes (3), 5 %",
        "Measure from the tail to key 3.",
        "41 of 42 keys tried",
        "not tried: SPACE",
        "900 frames, 2 lost, 1 damaged, 1 gaps",
    ):
        assert part in " ".join(text.split())


@pytest.mark.parametrize("verdict", ["sound", "faulty", "unproven", "untestable"])
def test_every_verdict_has_a_sign_and_a_word(verdict: str) -> None:
    sign, word, meaning = words.VERDICTS[verdict]
    text = " ".join(page(verdict=verdict, findings=[]).split())
    assert f"{sign} {word}" in text
    assert meaning[1:] in text
    assert words.NO_FINDINGS in text


def test_every_kind_has_plain_words() -> None:
    assert set(words.KINDS) == {kind.value for kind in FaultKind}


@pytest.mark.parametrize("width", [30, 56, 76, 116])
def test_the_page_keeps_to_its_width(width: int) -> None:
    assert max(len(row) for row in page(width).split("\n")[1:]) <= width


def test_places_read_well() -> None:
    assert words.place(None) == ""
    assert words.place({"line": "R1", "after": None, "before": "6"}) == "on R1, between the tail and key 6"
    assert words.place({"line": "R1", "after": "2", "before": None}) == "on R1, beyond key 2"
