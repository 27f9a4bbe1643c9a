"""The practice bench from outside: a scenario's name becomes a link; `Bench` and `Setup` build one by hand."""

from __future__ import annotations

from tailwise.practice.catalogue import find_scenario
from tailwise.practice.link import BenchLink
from tailwise.practice.virtual import Bench, Setup

__all__ = ["Bench", "BenchLink", "Setup", "open_practice"]


def open_practice(scenario: str, *, realtime: bool = False, speed: float = 1.0) -> BenchLink:
    """A bench that plays a scenario, by name or path; FileProblems where there is no such scenario.

    realtime: the wall clock's pace times `speed`, else virtual time, which only `read` and `reopen` move on.
    """
    found = find_scenario(scenario)
    return BenchLink(Bench(found.setup), f"practice:{scenario}", realtime=realtime, speed=speed)
