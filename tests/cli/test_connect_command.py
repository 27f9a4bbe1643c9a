"""`tailwise connect`: what is found is kept for the board, used by runs, and forgotten again."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from tailwise.cli.main import main
from tailwise.harness.store import kept_wirings
from tailwise.link.base import Link
from tailwise.live.run import Run, RunSettings
from tailwise.practice.bench import Bench, BenchLink, open_practice
from tailwise.practice.boardkind import BoardKind
from tailwise.practice.catalogue import find_scenario


def bench(settings: RunSettings) -> Run:
    """A run on a board that is somebody's own."""

    def opener(url: str, *, realtime: bool = False) -> Link:
        return open_practice(url.partition(":")[2])

    return Run(settings, opener)


@pytest.fixture(autouse=True)
def own_board(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path))
    monkeypatch.setattr("tailwise.cli.connecting.Run", bench)


def test_a_reversed_tail_is_named_and_kept_and_forgotten(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["connect", "--port", "bench:reversed-tail", "--layout", "demo-7x6", "--json"]) == 0
    said = capsys.readouterr()
    found = json.loads(said.out)
    assert found["way"] == "tail J1 reversed"
    assert found["kept"] in said.err
    (kept,) = kept_wirings()
    assert kept.board_line == found["board_line"]
    assert main(["connect", "--list"]) == 0
    assert "tail J1 reversed" in capsys.readouterr().out
    assert main(["connect", "--forget", "--layout", "demo-8x8"]) == 0
    assert len(kept_wirings()) == 1
    assert main(["connect", "--forget"]) == 0
    assert kept_wirings() == []


def test_a_shifted_tail_has_to_be_put_in_again(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["connect", "--port", "bench:shifted-tail", "--layout", "demo-7x6"]) == 1
    said = capsys.readouterr()
    assert "shifted by 1 contact" in said.out
    assert "put it in straight" in said.err
    assert kept_wirings() == []


def test_on_the_practice_bench_nothing_is_kept(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["connect", "--port", "practice:swapped-tails-8x8", "--layout", "demo-8x8"]) == 0
    assert "tails swapped" in capsys.readouterr().out
    assert kept_wirings() == []


def test_without_port_or_layout_it_says_what_is_missing(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["connect", "--layout", "demo-7x6"]) == 2
    assert "--port URL" in capsys.readouterr().err


@pytest.mark.parametrize("lines", [16, 40])
def test_a_board_of_any_size_is_watched_whole(
    lines: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    setup = replace(find_scenario("reversed-tail").setup, board=BoardKind(line_count=lines))

    def opener(url: str, *, realtime: bool = False) -> Link:
        return BenchLink(Bench(setup), url)

    monkeypatch.setattr("tailwise.cli.connecting.Run", lambda settings: Run(settings, opener))
    assert main(["connect", "--port", "bench:", "--layout", "demo-7x6"]) == 0
    said = capsys.readouterr()
    assert "tail J1 reversed" in said.out
    assert "needs" not in said.err
    assert main(["connect", "--port", "bench:", "--layout", "demo-7x6", "--lines", "24"]) == (4 if lines < 24 else 0)
