"""Wirings kept for a board and a layout."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tailwise.harness.store import forget_wiring, keep_wiring, kept_wiring, kept_wirings
from tailwise.harness.wiring import WiringError, plain_wiring
from tailwise.layoutfile.library import find_layout

LAYOUT = find_layout("demo-7x6")
BOARD = bytes.fromhex("0102ff")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path))


def test_a_wiring_is_kept_for_its_board_and_layout_only() -> None:
    wiring = plain_wiring(LAYOUT)
    assert kept_wirings() == []
    assert kept_wiring(BOARD, LAYOUT) is None
    path = keep_wiring(BOARD, LAYOUT.id, wiring, "right")
    found = kept_wiring(BOARD, LAYOUT)
    assert found is not None
    assert found[0] == wiring
    assert (found[1].how, found[1].board, found[1].path) == ("right", "0102ff", path)
    assert kept_wiring(b"other", LAYOUT) is None
    assert kept_wiring(BOARD, find_layout("demo-8x8")) is None
    assert [each.layout for each in kept_wirings()] == [LAYOUT.id]


def test_a_newer_one_replaces_it_and_it_can_be_forgotten() -> None:
    keep_wiring(BOARD, LAYOUT.id, plain_wiring(LAYOUT), "right")
    keep_wiring(BOARD, LAYOUT.id, plain_wiring(LAYOUT), "tail J1 reversed")
    (kept,) = kept_wirings()
    assert kept.how == "tail J1 reversed"
    forget_wiring(kept)
    forget_wiring(kept)
    assert kept_wiring(BOARD, LAYOUT) is None


def test_boards_without_identity_share_one() -> None:
    keep_wiring(b"", LAYOUT.id, plain_wiring(LAYOUT), "right")
    assert kept_wiring(b"", LAYOUT) is not None


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"format": "tailwise-wiring/1"}', "\udcff"])
def test_a_damaged_file_is_named_and_never_used(text: str) -> None:
    path = keep_wiring(BOARD, LAYOUT.id, plain_wiring(LAYOUT), "right")
    path.write_bytes(text.encode("utf-8", "surrogateescape"))
    with pytest.raises(WiringError, match="json"):
        kept_wiring(BOARD, LAYOUT)
    assert kept_wirings() == []


def test_a_wiring_of_other_lines_is_refused() -> None:
    keep_wiring(BOARD, LAYOUT.id, plain_wiring(find_layout("demo-8x8")), "right")
    with pytest.raises(WiringError, match="does not fit"):
        kept_wiring(BOARD, replace(LAYOUT))
