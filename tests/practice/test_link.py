"""The bench behind the link's interface: virtual time, the same bytes each time, a pulled cable, the wall clock."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tailwise.layoutfile.library import find_layout
from tailwise.link.base import LinkEnded, LinkLost
from tailwise.model.mark import Deed
from tailwise.practice.bench import Bench, BenchLink, Setup, open_practice
from tailwise.practice.noise import Noise
from tailwise.practice.operator import Hold, Press, Release, Still, Unplug
from tailwise.wire.frames import Frame, FrameError
from tailwise.wire.messages import Ack, Booted, Refused
from tests.practice.host import Host

DEMO = find_layout("demo-7x6")
LINES = 13


def played(setup: Setup) -> Host:
    host = Host(BenchLink(Bench(setup)))
    host.start(LINES)
    host.stay()
    return host


def test_the_same_setup_gives_the_same_bytes_and_another_seed_others() -> None:
    setup = Setup(DEMO, (Press(),), noise=Noise(lost=0.01, damaged=0.01, doubled=0.01, garbage_bytes=30))
    first, again, other = (played(replace(setup, seed=seed)).frames for seed in (5, 5, 6))
    assert [str(frame) for frame in first] == [str(frame) for frame in again]
    assert [str(frame) for frame in first] != [str(frame) for frame in other]


def test_noise_hits_the_frames_it_is_told_to() -> None:
    noise = Noise(lose_frames=frozenset({20}), damage_frames=frozenset({30, 31}))
    host = played(Setup(DEMO, (Still(3),), noise=noise))
    numbers = [frame.number for _, frame in host.frames if isinstance(frame, Frame)]
    assert set(range(max(numbers))) - set(numbers) == {20, 30, 31}
    assert sum(isinstance(frame, FrameError) for _, frame in host.frames) >= 2


def test_a_pulled_cable_loses_the_link_and_the_board_starts_anew() -> None:
    host = played(Setup(DEMO, (Press(("Q",)), Unplug(2.0), Press(("W",)))))
    assert len(host.lost) == 1
    assert sum(isinstance(message, Booted) for message in host.messages()) == 2
    assert {(3, 11), (3, 9)} <= host.closed_pairs()
    with pytest.raises(LinkEnded):
        host.link.read(1.0)


def test_marks_are_made_in_run_time_and_only_where_asked_for() -> None:
    script = (Press(("Q", "W"), times=2), Hold(("A",)), Release())
    assert played(Setup(DEMO, script)).marks == []
    host = played(Setup(DEMO, script, marking=frozenset({Deed.PRESS, Deed.HOLD})))
    assert [(mark.do, mark.key) for mark in host.marks] == [
        (Deed.PRESS, "Q"),
        (Deed.PRESS, "Q"),
        (Deed.PRESS, "W"),
        (Deed.PRESS, "W"),
        (Deed.HOLD, "A"),
    ]
    assert host.marks[0].at_us >= 2_000_000
    start = next(message for message in host.messages() if isinstance(message, Ack) and message.command_type == 4)
    closures = [
        clock - start.clock for clock, driven, sensed, closed in host.readings() if closed and (driven, sensed) == (3, 11)
    ]
    assert host.marks[0].at_us < closures[0] < host.marks[1].at_us


def test_nothing_happens_in_the_rest_check() -> None:
    host = played(Setup(DEMO, (Press(),)))
    start = next(message for message in host.messages() if isinstance(message, Ack) and message.command_type == 4)
    assert min(clock for clock, *_ in host.readings()) - start.clock >= 2_000_000


def test_a_refused_drive_and_a_host_that_never_starts_end_by_themselves() -> None:
    host = Host(open_practice("foreign-voltage"))
    assert isinstance(host.start(LINES), Refused)
    host.stay()
    silent = Host(open_practice("sound"))
    with pytest.raises(LinkEnded):
        silent.wait(120)


def test_in_real_time_the_bench_follows_the_wall_clock_at_its_speed() -> None:
    """However late the host comes to read, everything up to now is there, and the end comes by itself."""
    setup = Setup(DEMO, (Press(("Q", "W")),), marking=frozenset({Deed.PRESS}))
    host = Host(BenchLink(Bench(setup), realtime=True, speed=8.0))
    assert isinstance(host.start(LINES), Ack)
    host.stay()
    assert host.closed_pairs()
    assert host.marks


def test_a_closed_link_is_lost_and_a_speed_must_be_above_nought() -> None:
    link = open_practice("sound")
    link.close()
    with pytest.raises(LinkLost):
        link.read(1.0)
    assert not link.reopen()
    with pytest.raises(ValueError, match="speed"):
        open_practice("sound", speed=0.0)
