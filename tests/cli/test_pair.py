"""Two runs judged as one: did the trouble go with the socket?"""

from __future__ import annotations

import json
from typing import Any

import pytest

from tailwise.cli.main import main


@pytest.fixture(scope="module")
def runs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    folder = tmp_path_factory.mktemp("pair")
    found = {}
    for scenario, layout in (("open-column", "demo-7x6"), ("sound", "demo-7x6"), ("sound-8x8", "demo-8x8")):
        found[scenario] = str(folder / f"{scenario}.twrec")
        call = ["test", "--port", f"practice:{scenario}", "--layout", layout, "--every-key-pressed"]
        main([*call, "--record", found[scenario]])
    return found


def judged(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, dict[str, Any], str]:
    capsys.readouterr()
    code = main(["judge", "--json", *arguments])
    said = capsys.readouterr()
    return code, json.loads(said.out), said.err


def test_a_line_that_works_after_reseating_was_open_at_the_socket(
    runs: dict[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    code, document, told = judged(capsys, runs["sound"], "--after", runs["open-column"])
    assert code == 1
    (finding,) = document["findings"]
    assert finding["lines"] == ["C3"] and finding["kind"] in ("open_line", "intermittent_line")
    assert "not tested:" in told and "socket" in told


def test_a_line_that_works_past_the_socket_is_whole_on_the_film(
    runs: dict[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    _, document, _ = judged(capsys, runs["sound"], "--after", runs["open-column"], "--between", "past_socket")
    (finding,) = document["findings"]
    assert "socket" in finding["next_step"]


def test_two_layouts_are_no_pair(runs: dict[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["judge", runs["sound"], "--after", runs["sound-8x8"]]) == 2
    assert main(["judge", runs["sound"], runs["open-column"], "--after", runs["sound"]]) == 2
    assert "one recording" in capsys.readouterr().err
