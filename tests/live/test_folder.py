"""Where runs go when nobody names a file."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from tailwise.live.folder import SUFFIX, free_name, recordings_folder

NOW = datetime(2031, 5, 6, 7, 8, 9, tzinfo=UTC)


def test_names_are_free_dated_and_harmless(tmp_path: Path) -> None:
    first = free_name(tmp_path, "a/b c", NOW)
    assert first == tmp_path / f"20310506T070809Z-a_b_c{SUFFIX}"
    first.touch()
    assert free_name(tmp_path, "a/b c", NOW) == tmp_path / f"20310506T070809Z-a_b_c-2{SUFFIX}"


def test_the_folder_can_be_chosen_and_is_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path / "mine"))
    assert recordings_folder() == tmp_path / "mine" / "recordings"
    assert recordings_folder().is_dir()
    monkeypatch.delenv("TAILWISE_DATA")
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "xdg"))
    assert recordings_folder() == tmp_path / "xdg" / "tailwise" / "recordings"
