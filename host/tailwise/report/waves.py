"""A recording as waveforms: for every crosspoint and every pair of lines when it read closed, open or not at all.

Theory. Between two STATEs the transitions tell each change to the microsecond; they count once the second STATE
confirms them. Where frames are missing or the board was away nothing is known: the wave is unknown (x) from the last
thing known to the next STATE, never open. Times are run time: microseconds of the board since the acknowledged start.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from tailwise.harness.wiring import Wiring, checked_wiring, plain_wiring
from tailwise.judge.judge import header_layout
from tailwise.model.layout import Layout
from tailwise.model.mark import Mark
from tailwise.model.observation import Blind, Pair, Press
from tailwise.observe.matrix import Matrix, Rows, Step
from tailwise.observe.observer import Observer
from tailwise.observe.stream import Stream
from tailwise.recording.format import Recording

Level = bool | None
"""Closed, open, or None: unknown."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A pair (driven, sensed) reads anew at run time t_us; `frame` is the number of the frame that said so."""

    t_us: int
    driven: str
    sensed: str
    closed: bool
    frame: int


@dataclass(frozen=True)
class Waves:
    """Everything an export shows. edges by time; before its first edge a pair is open. seen: whether there was any STATE."""

    layout: Layout
    label: str
    created: str
    tool: str
    seen: bool
    start_us: int
    end_us: int
    edges: tuple[Edge, ...]
    presses: tuple[Press, ...]
    marks: tuple[Mark, ...]
    blind: tuple[Blind, ...]

    @cached_property
    def pairs(self) -> tuple[Pair, ...]:
        """Pairs that ever read closed, in the layout's order of lines."""
        order = {line: place for place, line in enumerate(self.layout.lines)}
        found = {(edge.driven, edge.sensed) for edge in self.edges if edge.closed}
        return tuple(sorted(found, key=lambda pair: (order[pair[0]], order[pair[1]])))


def read_waves(recording: Recording, file: str = "recording") -> Waves:
    """The waves of a recording, called `file` in errors: RecordingError or WiringError where its header does not fit."""
    header = recording.header
    layout = header_layout(header, file)
    wiring = plain_wiring(layout) if header.wiring is None else checked_wiring(layout, header.wiring)
    observer = Observer(layout, wiring, every_key_pressed=header.every_key_pressed)
    edges: list[Edge] = []
    start_us: int | None = None
    for step in _steps(recording, layout, wiring):
        start_us = step.t_us if start_us is None else start_us
        edges += step.edges
    for record in recording.records:
        observer.feed(record)
    seen = observer.observations()
    return Waves(
        layout=layout,
        label=header.label,
        created=header.created,
        tool=header.tool,
        seen=start_us is not None,
        start_us=start_us or 0,
        end_us=max([seen.end_us, *(mark.at_us for mark in seen.marks)]),
        edges=tuple(sorted(edges, key=lambda edge: edge.t_us)),
        presses=seen.presses,
        marks=seen.marks,
        blind=seen.blind,
    )


@dataclass(frozen=True, slots=True)
class _Confirmed:
    t_us: int
    edges: list[Edge]


def _steps(recording: Recording, layout: Layout, wiring: Wiring) -> Iterator[_Confirmed]:
    """What each STATE confirms: the transitions before it, or the whole matrix where they were not seen."""
    stream, matrix = Stream(), Matrix(layout, wiring)
    lines = layout.lines
    rows: Rows = (0,) * len(lines)
    for record in recording.records:
        for event in stream.feed(record):
            if stream.identity is not None:
                matrix.set_line_count(stream.identity.line_count)
            step = matrix.feed(event)
            if step is None:
                continue
            edges = [
                Edge(change.t_us, lines[change.driven], lines[change.sensed], change.closed, change.frame)
                for change in step.changes
            ]
            if step.first or step.blind is not None:
                edges += _jumps(lines, rows, step)
            rows = step.rows
            yield _Confirmed(step.t_us, edges)


def _jumps(lines: tuple[str, ...], before: Rows, step: Step) -> Iterator[Edge]:
    """Readings that differ from those before a stretch nobody saw."""
    for driven, (then, now) in enumerate(zip(before, step.rows, strict=True)):
        for sensed in range(len(lines)):
            if (then ^ now) >> sensed & 1:
                yield Edge(step.t_us, lines[driven], lines[sensed], bool(now >> sensed & 1), step.frame)
