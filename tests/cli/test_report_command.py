"""`tailwise report`: the page and its companions."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PIL import Image

from tailwise.cli.main import main


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("report")
    for scenario in ("broken-trace", "sound"):
        call = ["test", "--port", f"practice:{scenario}", "--layout", "demo-7x6", "--every-key-pressed", "--label", "KB-3"]
        main([*call, "--record", str(folder / f"{scenario}.twrec")])
    return folder


def test_everything_at_once(folder: Path, tmp_path: Path) -> None:
    photo = tmp_path / "crack.png"
    Image.new("RGB", (40, 20), "red").save(photo)
    names = {name: tmp_path / f"out.{name}" for name in ("html", "md", "csv", "txt", "json")}
    call = ["report", str(folder / "sound.twrec"), "-o", str(names["html"]), "--before", str(folder / "broken-trace.twrec")]
    call += ["--photo", f"{photo}=the finished fold", "--markdown", str(names["md"]), "--csv", str(names["csv"])]
    assert main([*call, "--sticker", str(names["txt"]), "--json", str(names["json"])]) == 0
    page = names["html"].read_text()
    assert "Every key works" in page and "Gone: a broken trace (line C4; keys" in page
    assert 'alt="the finished fold"' in page and "data:image/jpeg;base64," in page
    assert "KB-3" in names["md"].read_text() and "sound" in names["txt"].read_text()
    assert len(names["csv"].read_text().splitlines()) == 43
    assert json.loads(names["json"].read_text())["verdict"] == "sound"


def test_a_shop_grades_by_its_own_rules(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rubric = tmp_path / "rubric.yaml"
    rubric.write_text("format: tailwise-rubric/1\ngrades: [top]\nrules: [{grade: top, because: ours, to_raise: none}]\n")
    page = tmp_path / "page.html"
    call = ["report", str(folder / "sound.twrec"), "-o", str(page), "--rubric", str(rubric)]
    assert main(call) == 0
    assert "Grade: top" in page.read_text()
    rubric.write_text("format: tailwise-rubric/1\ngrades: [top]\nrules: [{grade: tops, because: ours, to_raise: none}]\n")
    assert main(call) == 2
    assert "rubric.yaml:3: rules[0].grade: unknown grade tops, did you mean top?" in capsys.readouterr().err


def test_mistakes_touch_nothing(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    recording = folder / "sound.twrec"
    before = recording.read_bytes()
    assert main(["report", str(recording), "-o", str(recording)]) == 2
    assert recording.read_bytes() == before
    text = tmp_path / "not.png"
    text.write_text("hello")
    assert main(["report", str(recording), "-o", str(tmp_path / "x.html"), "--photo", str(text)]) == 2
    assert "not a picture" in capsys.readouterr().err
    assert not (tmp_path / "x.html").exists()
