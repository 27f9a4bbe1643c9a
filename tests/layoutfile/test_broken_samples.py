"""Every broken sample gives exactly the problems written beside it, in one pass."""

from __future__ import annotations

from pathlib import Path

import pytest

from tailwise.layoutfile.nodes import FileProblems
from tailwise.layoutfile.reader import read_layout

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "layouts-broken"
SAMPLES = sorted(FOLDER.glob("*.yaml"))


def test_there_are_samples() -> None:
    assert {path.stem for path in SAMPLES} == {path.stem for path in FOLDER.glob("*.expected")}
    assert len(SAMPLES) >= 10


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_broken_file_gives_all_its_problems(path: Path) -> None:
    with pytest.raises(FileProblems) as caught:
        read_layout(path)
    found = [f"{each.line}: {each.key}: {each.text}" for each in caught.value.problems]
    assert found == path.with_suffix(".expected").read_text(encoding="utf-8").splitlines()
    assert str(caught.value).splitlines()[0].startswith(f"{path}:")
