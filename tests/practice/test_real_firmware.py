"""The practice board and the real firmware image see the same membrane alike."""

from __future__ import annotations

import pytest

from tailwise.layoutfile.library import find_layout
from tailwise.link.base import Link
from tailwise.model.fault import FaultKind
from tailwise.practice.bench import Bench, BenchLink, Setup
from tailwise.practice.naming import name_fault
from tailwise.practice.operator import Flex, Hold, Press, Release
from tailwise.practice.planted import Episodes, Planted
from tests.practice.host import Host
from tests.practice.scenario_board import ScenarioBoard

DEMO = find_layout("demo-7x6")
KEYS = ("4", "G", "K", "S", "T")
SETUP = Setup(
    DEMO,
    (Press(KEYS), Hold(("4", "K", "S")), Flex("fold", 2.0), Release()),
    (
        Planted(name_fault(DEMO, FaultKind.INTERMITTENT_LINE, ("C4",)), episodes=Episodes("fold", 3.0, 0.0, (30.0, 200.0))),
        Planted(name_fault(DEMO, FaultKind.SHORT, ("R1", "R2")), 40.0),
        Planted(name_fault(DEMO, FaultKind.DEAD_CONTACT, keys=("G",))),
    ),
    seed=77,
)


def settled(link: Link) -> dict[tuple[int, int], list[tuple[int, bool]]]:
    """Every reading's changes that stood for 12 ms, with the time in whole hundredths of a second since the start."""
    host = Host(link)
    host.start(13)
    started = host.started_clock()
    host.stay()
    changes: dict[tuple[int, int], list[tuple[int, bool]]] = {}
    for clock, driven, sensed, closed in host.readings():
        row = changes.setdefault((driven, sensed), [])
        if row and clock - started - row[-1][0] < 12_000:
            row.pop()
            if row and row[-1][1] == closed:
                continue
        row.append((clock - started, closed))
    return changes


def test_both_boards_read_the_same_changes() -> None:
    practice = settled(BenchLink(Bench(SETUP)))
    with ScenarioBoard(SETUP) as board:
        real = settled(board)
    assert practice.keys() == real.keys()
    for pair, changes in practice.items():
        assert [closed for _, closed in changes] == [closed for _, closed in real[pair]], pair
        for (at, _), (real_at, _) in zip(changes, real[pair], strict=True):
            assert at == pytest.approx(real_at, abs=8_000), "bounce and the travel of the ACK aside"
