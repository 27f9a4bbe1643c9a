"""The findings document: its shape, its order and its bytes.

Everything in it follows from the recording and the version of tailwise; there is no time of day, no path, no host in it.
"""

from __future__ import annotations

import json
from typing import Any

from tailwise import __version__
from tailwise.model.fault import Fault, Place
from tailwise.model.finding import Finding, Rival
from tailwise.model.observation import LinkCounts
from tailwise.verdict.coverage import CoverageFacts
from tailwise.verdict.decide import Decision

FORMAT = "tailwise-findings/1"
_PROBABILITY_DECIMALS = 3
_BOUND_DECIMALS = 4


def build(layout: str, label: str, decision: Decision, findings: tuple[Finding, ...], link: LinkCounts) -> dict[str, Any]:
    """The document as plain values, in its fixed order."""
    told = [(finding.fault.sort_key, -finding.probability, _finding(finding)) for finding in findings]
    told.sort(key=lambda each: (*each[:2], json.dumps(each[2], sort_keys=True)))
    return {
        "format": FORMAT,
        "tool": f"tailwise {__version__}",
        "layout": layout,
        "label": label,
        "verdict": decision.verdict.value,
        "grade": decision.grade.name,
        "findings": [finding for _, _, finding in told],
        "coverage": _coverage(decision.coverage),
        "link": {"frames": link.frames, "lost": link.lost, "bad": link.bad, "gaps": link.gaps},
    }


def to_bytes(document: dict[str, Any]) -> bytes:
    """The document as the bytes that are printed and stored: JSON in UTF-8, two blanks deep, one line end."""
    return (json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False) + "\n").encode("utf-8", "backslashreplace")


def _finding(finding: Finding) -> dict[str, Any]:
    rivals = sorted(
        finding.rivals,
        key=lambda rival: (
            -round(rival.probability, _PROBABILITY_DECIMALS),
            rival.fault.sort_key,
            rival.fault.steadiness.value,
        ),
    )
    out: dict[str, Any] = {
        **_fault(finding.fault),
        "steadiness": finding.fault.steadiness.value,
        "probability": round(finding.probability, _PROBABILITY_DECIMALS),
        "evidence": sorted(finding.evidence),
        "rivals": [_rival(rival) for rival in rivals],
        "next_step": finding.next_step,
    }
    if finding.zone is not None:
        out["zone"] = finding.zone
    if finding.distance_mm is not None:
        out["distance_mm"] = [round(each, 1) for each in finding.distance_mm]
    return out


def _rival(rival: Rival) -> dict[str, Any]:
    return {**_fault(rival.fault), "probability": round(rival.probability, _PROBABILITY_DECIMALS)}


def _fault(fault: Fault) -> dict[str, Any]:
    return {
        "kind": fault.kind.value,
        "lines": sorted(fault.lines),
        "keys": sorted(fault.keys),
        "place": _place(fault.place),
    }


def _place(place: Place | None) -> dict[str, str | None] | None:
    return None if place is None else {"line": place.line, "after": place.after, "before": place.before}


def _coverage(coverage: CoverageFacts) -> dict[str, Any]:
    return {
        "keys": coverage.keys,
        "tried": coverage.tried,
        "untried": sorted(coverage.untried),
        "presses": coverage.presses,
        "miss_bound_95": round(coverage.miss_bound_95, _BOUND_DECIMALS),
    }
