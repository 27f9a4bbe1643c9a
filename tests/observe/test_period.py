"""The scan period from what board and host say."""

from __future__ import annotations

from tailwise.observe.period import ScanPeriod
from tailwise.wire.messages import Heartbeat, RunState, Transitions
from tailwise.wire.payload import Transition


def beat(scans: int, worst_us: int) -> Heartbeat:
    return Heartbeat(0, RunState.SCANNING, 0, 0, 0, scans, worst_us, 0)


def test_nobody_has_told() -> None:
    assert ScanPeriod().scan_us == 0


def test_the_longest_of_worst_mean_and_asked() -> None:
    period = ScanPeriod()
    period.beat(500_000, beat(2000, 240))
    assert period.scan_us == 240
    period.beat(1_000_000, beat(3600, 250))
    assert period.scan_us == 313
    period.asked_us = 900
    assert period.scan_us == 900


def test_a_new_start_counts_scans_anew() -> None:
    period = ScanPeriod()
    period.beat(500_000, beat(2000, 240))
    period.restart()
    period.beat(600_000, beat(10, 240))
    assert period.scan_us == 240


def test_lines_that_seem_read_at_one_time_make_the_times_coarse() -> None:
    period = ScanPeriod()
    period.beat(0, beat(0, 300))
    period.entries(Transitions(0, (Transition(0, 1, 2, True), Transition(0, 1, 3, True))))
    assert period.scan_us == 300
    period.entries(Transitions(0, (Transition(0, 1, 2, True), Transition(0, 2, 1, True))))
    assert period.scan_us == 4300
    period.entries(Transitions(0, (Transition(0, 1, 2, True), Transition(90, 2, 1, True))))
    assert period.scan_us == 300
