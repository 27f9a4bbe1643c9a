"""Invented runs for the ledger's tests."""

from __future__ import annotations

from typing import Any

from tailwise.ledger.store import KeyResult, NewRun


def finding(kind: str = "open_line", lines: tuple[str, ...] = ("C1",), keys: tuple[str, ...] = ("1", "2")) -> dict[str, Any]:
    return {"kind": kind, "lines": list(lines), "keys": list(keys), "probability": 0.97}


def document(*findings: dict[str, Any]) -> dict[str, Any]:
    return {
        "verdict": "faulty" if findings else "sound",
        "grade": "failed" if findings else "fit",
        "tool": "tailwise 0.1.0",
        "findings": list(findings),
        "coverage": {"keys": 2, "tried": 2, "presses": 4},
    }


def run(label: str, *findings: dict[str, Any], recording: bytes = b"one", layout: str = "demo-7x6", **extra: Any) -> NewRun:
    keys = extra.pop("keys", {"1": KeyResult(2), "2": KeyResult(0, 812.5)})
    return NewRun(label, layout, document(*findings), recording, keys, **extra)
