"""Layouts in the user's own folder."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tailwise.cli.main import main
from tailwise.layoutfile.library import find_layout
from tailwise.layoutfile.nodes import FileProblems
from tailwise.layoutfile.own import own_folder, own_ids


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path))
    own_folder().mkdir()
    text = find_layout("demo-7x6").text
    (own_folder() / "attic-find.yaml").write_text(text.replace("id: demo-7x6", "id: attic-find"), encoding="utf-8")
    (own_folder() / "attic-find.wiring.yaml").write_text("R1: 0\n", encoding="utf-8")
    return own_folder()


def test_an_own_layout_is_found_by_its_id_and_listed_as_ones_own(own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert own_ids() == ["attic-find"]
    assert find_layout("attic-find").id == "attic-find"
    assert main(["layouts"]) == 0
    (line,) = [line for line in capsys.readouterr().out.splitlines() if line.startswith("attic-find")]
    assert "your own" in line
    assert main(["layouts", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)[-1]["id"] == "attic-find"


def test_an_own_file_never_hides_a_shipped_layout(own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (own / "demo-8x8.yaml").write_text("id: other\n", encoding="utf-8")
    assert len(find_layout("demo-8x8").keys) == 64
    assert main(["layouts"]) == 0
    assert capsys.readouterr().out.count("demo-8x8") == 1


def test_a_damaged_own_file_is_named_and_the_others_are_listed(own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (own / "broken.yaml").write_text("id: [\n", encoding="utf-8")
    assert main(["layouts"]) == 0
    listed = capsys.readouterr()
    assert "attic-find" in listed.out
    assert "broken.yaml" in listed.err
    with pytest.raises(FileProblems, match="did you mean attic-find"):
        find_layout("attic-fund")
