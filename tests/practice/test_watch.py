"""Watching a pair without pause: every opening longer than the line's rise time is seen, with its length."""

from __future__ import annotations

import pytest

from tailwise.layoutfile.library import find_layout
from tailwise.model.fault import FaultKind
from tailwise.practice.bench import Bench, BenchLink, Setup
from tailwise.practice.naming import name_fault
from tailwise.practice.operator import Flex, Hold, Press, Release, Step
from tailwise.practice.planted import Episodes, Planted
from tailwise.practice.slots import Stretch
from tailwise.wire.messages import Ack, Heartbeat, Openings, Refusal, Refused, RunState, SetWatch, Start, State, Watched
from tests.practice.host import Host

DEMO = find_layout("demo-7x6")
R1, R6, C4 = 0, 5, 10
SWITCHED_RISE_US, OWN_RISE_US = 2, 5
"""10 kohm or 35 kohm on 150 pF to 0.6 of the supply, in whole microseconds."""


def cracked(episodes: Episodes, *script: Step) -> Setup:
    fault = name_fault(DEMO, FaultKind.INTERMITTENT_LINE, ("C4",))
    return Setup(DEMO, script, (Planted(fault, episodes=episodes),), seed=12)


def watched(setup: Setup, pull_up: int, pairs: bytes) -> Host:
    host = Host(BenchLink(Bench(setup)))
    host.hello()
    assert isinstance(host.ask(SetWatch(pull_up, pairs)), Ack)
    assert isinstance(host.ask(Start(1)), Ack)
    host.stay()
    return host


def last(host: Host) -> Watched:
    return [message for message in host.messages() if isinstance(message, Watched)][-1]


def planted_openings(setup: Setup, least_us: int) -> list[tuple[int, int]]:
    """(start, length) of every opening of the tail while the key is held, in run time, longer than the rise of the line."""
    bench = Bench(setup)
    changes = [change for change in bench.changes if change.slot == Stretch("C4")]
    held = bench.performance.fingers[0]
    spans = [(start.at_us, end.at_us) for start, end in zip(changes[::2], changes[1::2], strict=True)]
    return [
        (start, end - start) for start, end in spans if held.down_us < start and end < held.up_us and end - start >= least_us
    ]


HELD = (Hold(("4",)), Flex("fold", 8.0), Release())


@pytest.mark.parametrize(("pull_up", "rise_us"), [(1, SWITCHED_RISE_US), (0, OWN_RISE_US)])
def test_openings_are_seen_one_by_one(pull_up: int, rise_us: int) -> None:
    setup = cracked(Episodes("fold", 2.0, 0.0, open_ms=(0.002, 3.0), openings=(1, 8), gap_ms=(0.5, 5.0)), *HELD)
    host = watched(setup, pull_up, bytes([C4, R1]))
    begun = host.started_clock()
    truth = planted_openings(setup, rise_us)
    seen = [entry for message in host.messages() if isinstance(message, Openings) for entry in message.entries]
    by_start = {entry.start - begun - rise_us: entry.length + rise_us for entry in seen}
    assert len(truth) > 30
    for start, length in truth:
        assert by_start[start] == length
    counts = last(host)
    assert (counts.openings_first, counts.open_first) == (len(seen), sum(entry.length for entry in seen))
    assert counts.dropped == 0
    assert not any(isinstance(message, State) for message in host.messages())
    beats = [message for message in host.messages() if isinstance(message, Heartbeat)]
    assert beats[-1].state == RunState.SCANNING


def test_counts_stay_whole_when_the_line_is_saturated() -> None:
    storm = Episodes("fold", 100.0, 0.0, open_ms=(0.02, 0.05), openings=(900, 1000), gap_ms=(0.02, 0.05))
    setup = cracked(storm, Hold(("4",)), Flex("fold", 1.0), Release())
    host = watched(setup, 1, bytes([C4, R1]))
    counts = last(host)
    seen = sum(len(message.entries) for message in host.messages() if isinstance(message, Openings))
    truth = len(planted_openings(setup, SWITCHED_RISE_US))
    assert counts.dropped > 1000
    assert counts.openings_first == seen + counts.dropped
    assert truth <= counts.openings_first <= truth + 200, "beside the crack only the release, its bounce chopped by the storm"


def test_two_pairs_are_counted_apart_and_a_sound_line_shows_nothing_but_bounce() -> None:
    setup = Setup(DEMO, (Press(("4", "K"), times=3), Hold(("K",)), Flex("fold", 2.0), Release()))
    host = watched(setup, 1, bytes([R1, C4, R6, C4]))
    counts = last(host)
    assert counts.closed == 0
    entries = [entry for message in host.messages() if isinstance(message, Openings) for entry in message.entries]
    assert {entry.pair for entry in entries} == {0, 1}
    assert counts.openings_first == sum(entry.pair == 0 for entry in entries)
    assert counts.openings_second == sum(entry.pair == 1 for entry in entries)


@pytest.mark.parametrize(
    ("pull_up", "pairs", "code"),
    [
        (1, b"", Refusal.BAD_PAYLOAD),
        (1, b"\1", Refusal.BAD_PAYLOAD),
        (2, b"\1\2", Refusal.BAD_PAYLOAD),
        (1, b"\1\2\3\4\5\6", Refusal.BAD_PAYLOAD),
        (1, b"\1\1", Refusal.BAD_LINE),
        (1, b"\1\2\1\3", Refusal.BAD_LINE),
        (1, b"\1\2\2\3", Refusal.BAD_LINE),
        (1, b"\x01\x18", Refusal.BAD_LINE),
        (1, b"\x14\x01", Refusal.UNSUPPORTED),
    ],
)
def test_what_cannot_be_watched_is_refused(pull_up: int, pairs: bytes, code: Refusal) -> None:
    host = Host(BenchLink(Bench(Setup(DEMO))))
    host.hello()
    answer = host.ask(SetWatch(pull_up, pairs))
    assert isinstance(answer, Refused) and answer.code == code
    start = host.ask(Start(1))
    assert isinstance(start, Refused) and start.code == Refusal.NOT_CONFIGURED
