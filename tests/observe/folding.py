"""Shortcuts for tests: fold a board's run."""

from __future__ import annotations

from collections.abc import Iterable

from tailwise.harness.wiring import plain_wiring
from tailwise.model.layout import Layout
from tailwise.model.observation import Observations
from tailwise.observe.observer import Observer
from tailwise.recording.format import Record
from tests.observe.board import Board


def observer_of(layout: Layout, records: Iterable[Record], *, every_key_pressed: bool = False) -> Observer:
    observer = Observer(layout, plain_wiring(layout), every_key_pressed=every_key_pressed)
    for record in records:
        observer.feed(record)
    return observer


def fold(layout: Layout, records: Iterable[Record], *, every_key_pressed: bool = False) -> Observations:
    return observer_of(layout, records, every_key_pressed=every_key_pressed).observations()


def observed(board: Board, until_us: int, *, every_key_pressed: bool = False) -> Observations:
    return fold(board.layout, board.records(until_us), every_key_pressed=every_key_pressed)
