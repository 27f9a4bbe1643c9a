"""The fold: records in, observations out. Nothing but the records and the board's clock decides."""

from __future__ import annotations

from collections import Counter

from tailwise.harness.wiring import Wiring
from tailwise.model.layout import Layout
from tailwise.model.mark import Mark
from tailwise.model.observation import Blind, Dropout, LineHeld, LinkCounts, Observations, Press
from tailwise.observe.attempts import attempts_of
from tailwise.observe.matrix import Matrix
from tailwise.observe.naming import name_closures
from tailwise.observe.presses import Closure, closures_of, dropouts_of, reunite
from tailwise.observe.reading import duo_of
from tailwise.observe.rest import elsewhere_of, joined_of, rest_done
from tailwise.observe.snapshot import Snapshot, take_snapshot
from tailwise.observe.stream import Stream
from tailwise.observe.thresholds import DEFAULT_SCAN_US
from tailwise.observe.tracker import Tracker
from tailwise.observe.watching import WatchLog
from tailwise.observe.watchpicture import with_watch
from tailwise.recording.format import Changed, Marked, Record
from tailwise.wire.messages import LineStatus

_HELD = {
    LineStatus.CLEAR: LineHeld.CLEAR,
    LineStatus.HELD_HIGH: LineHeld.HIGH,
    LineStatus.HELD_LOW: LineHeld.LOW,
    LineStatus.NOT_CHECKED: LineHeld.NOT_CHECKED,
}


class Observer:
    """Feed it every record of a run in order; ask at any time."""

    def __init__(self, layout: Layout, wiring: Wiring, *, every_key_pressed: bool = False) -> None:
        self._layout = layout
        self._wiring = wiring
        self._stated = every_key_pressed
        self._stream = Stream()
        self._matrix = Matrix(layout, wiring)
        self._tracker = Tracker(layout)
        self._watch = WatchLog(layout, wiring)
        self._marks: list[Mark] = []
        self._several = any(len(key.crosspoints) > 1 for key in layout.keys)
        place = {line: number for number, line in enumerate(layout.lines)}
        self._first_point = {
            key.id: duo_of(*(place[line] for line in key.crosspoints[0])) for key in layout.keys if key.crosspoints
        }

    @property
    def scan_us(self) -> int:
        """The scan period as known so far, microseconds."""
        return self._stream.period.scan_us or DEFAULT_SCAN_US

    @property
    def run_us(self) -> int:
        """Newest run time of the board, microseconds; 0 before the start."""
        return self._stream.clock.now_us

    @property
    def scanned(self) -> bool:
        """Whether a START was acknowledged and a STATE came after it."""
        return self._tracker.end_us > 0

    @property
    def refused(self) -> bool:
        """Whether the board refused anything."""
        return bool(self._stream.refusals)

    @property
    def odd_states(self) -> tuple[str, ...]:
        """Sentences about STATEs that did not fit the wiring; such a recording shows nothing."""
        return tuple(self._matrix.odd_states)

    def feed(self, record: Record) -> None:
        """Take one record."""
        if isinstance(record, Marked):
            self._marks.append(record.mark)
            return
        if isinstance(record, Changed):
            self._stated = self._stated if record.every_key_pressed is None else record.every_key_pressed
            return
        for event in self._stream.feed(record):
            if self._stream.identity is not None:
                self._matrix.set_line_count(self._stream.identity.line_count)
            self._watch.feed(event)
            step = self._matrix.feed(event)
            if step is not None:
                self._tracker.apply(step, self.scan_us)

    def _sorted_marks(self) -> tuple[Mark, ...]:
        return tuple(sorted(self._marks, key=lambda mark: mark.at_us))

    def snapshot(self) -> Snapshot:
        """The live picture; cheap."""
        counts = self._certain_presses() if self._several else None
        shown = take_snapshot(self._layout, self._tracker, self._matrix.now(), self.run_us, self.link_counts(), counts)
        return with_watch(shown, self._layout, self._watch, self.scan_us)

    def _certain_presses(self) -> dict[str, int]:
        closures = closures_of(self._tracker)
        counts = Counter[str]()
        for closure, keys in zip(closures, name_closures(closures, self._layout, self._sorted_marks()), strict=True):
            counts.update(key for key in keys if closure.certain and self._first_point[key] == closure.duo)
        return counts

    def link_counts(self) -> LinkCounts:
        """Counters of the link as the bytes show them."""
        stream = self._stream
        health = stream.health
        return LinkCounts(
            frames=stream.frames,
            lost=stream.numbering.lost,
            bad=stream.bad,
            gaps=stream.numbering.gaps,
            repeated=stream.numbering.repeated,
            resyncs=stream.resyncs,
            dropped_transitions=health.dropped if health is not None else 0,
        )

    def _held(self) -> dict[str, LineHeld]:
        held = {}
        for line, number in self._wiring.board_line.items():
            if number < len(self._stream.statuses):
                status = self._stream.statuses[number]
                if status in _HELD:
                    held[line] = _HELD[LineStatus(status)]
        return held

    def observations(self) -> Observations:
        """Everything shown so far; asking changes nothing."""
        layout, tracker, scan_us = self._layout, self._tracker, self.scan_us
        marks = self._sorted_marks()
        closures = reunite(closures_of(tracker), layout, marks, scan_us)
        names = name_closures(closures, layout, marks)
        lines = layout.lines
        return Observations(
            layout=layout,
            presses=tuple(
                press for closure, keys in zip(closures, names, strict=True) for press in self._presses(closure, keys)
            ),
            dropouts=self._dropouts(closures, names),
            attempts=attempts_of(marks, closures, names, tracker, layout),
            joined=joined_of(tracker, layout, self._matrix.directions, marks),
            blind=tuple(Blind(start, end, why) for start, end, why in tracker.blind),
            marks=marks,
            closures={(lines[one], lines[other]): count for (one, other), count in sorted(tracker.closures.items())},
            elsewhere=elsewhere_of(tracker, layout),
            held=self._held(),
            every_key_pressed=self._stated,
            started=self._stream.clock.started,
            rest_done=rest_done(tracker),
            end_us=max([tracker.end_us, *(watch.end_us for watch in self._watch.watches)]),
            scan_us=scan_us,
            overloads=self._stream.overloads,
            link=self.link_counts(),
            refusals=tuple(self._stream.refusals),
            link_lost=self._stream.away,
            watches=self._watch.spans(),
        )

    def _dropouts(self, closures: list[Closure], names: list[tuple[str, ...]]) -> tuple[Dropout, ...]:
        """Those of the matrix and those of watches."""
        found = dropouts_of(closures, names, self._tracker, self.scan_us) + self._watch.dropouts()
        return tuple(sorted(found, key=lambda each: (each.start_us, each.end_us, each.lost)))

    def _presses(self, closure: Closure, keys: tuple[str, ...]) -> list[Press]:
        low, high = closure.duo
        one_way = None
        if closure.duo in self._matrix.directions and (high, low) in self._matrix.directions and closure.ways in (1, 2):
            driven, sensed = (low, high) if closure.ways == 1 else (high, low)
            one_way = (self._layout.lines[driven], self._layout.lines[sensed])
        return [
            Press(
                key,
                closure.start_us,
                closure.end_us,
                closure.certain,
                closure.make_us,
                closure.break_us,
                closure.frame,
                one_way,
            )
            for key in keys
            if self._first_point[key] == closure.duo
        ]
