"""The minimal board with `watch_line`, written from PROTOCOL.md, section 19: it polls the pairs in virtual time.

Every step is a method of its own, so that a mutant can get one of them wrong. Lines 0 to 3 can be sensed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from tailwise.wire.frames import Frame
from tailwise.wire.messages import Alive, Identity, Message, Openings, Refusal, RunState, SetWatch, Start, Watched
from tailwise.wire.payload import Opening
from tests.conformance.minimal_board import MinimalBoard


@dataclass
class Counted:
    """One pair of a watch."""

    closed: bool = False
    opened_at: int | None = None
    openings: int = 0
    open_us: int = 0


class WatchingBoard(MinimalBoard):
    """Times are microseconds; `watching` while a watch runs."""

    watchable = 4
    poll_us = 200
    watched_us = 20_000
    openings_us = 10_000
    entries = 12
    shortest_ns = 200_000

    def reset(self) -> None:
        super().reset()
        self.watch: SetWatch | None = None
        self.watching = False
        self.counted: list[Counted] = []
        self.ended: list[Opening] = []
        self.ended_at = self.poll_at = self.watched_at = self.unlisted = 0

    def identity(self, command: int) -> Identity:
        return replace(super().identity(command), capabilities=3)

    def parse(self, frame: Frame) -> Message | None:
        return frame.message() if frame.type <= Alive.TYPE or frame.type == SetWatch.TYPE else None

    def handle(self, frame: Frame) -> None:
        if frame.type == SetWatch.TYPE and self.state == RunState.SCANNING:
            self.refuse(frame, Refusal.RUNNING)
        else:
            super().handle(frame)

    def unknown(self, frame: Frame) -> None:
        message = self.parse(frame)
        if isinstance(message, SetWatch):
            self.set_watch(frame, message)
        else:
            super().unknown(frame)

    # commands --------------------------------------------------------------------------------------------------

    def set_watch(self, frame: Frame, message: SetWatch) -> None:
        """Which pairs."""
        sensed, driven = message.pairs[::2], message.pairs[1::2]
        if message.pull_up > 1 or len(message.pairs) not in (2, 4):
            self.refuse(frame, Refusal.BAD_PAYLOAD)
        elif unfit := self.unfit_lines(sensed, driven):
            self.refuse(frame, Refusal.BAD_LINE, unfit[0])
        else:
            self.watch = message
            self.ack(frame)

    def unfit_lines(self, sensed: bytes, driven: bytes) -> list[int]:
        """Lines it lacks, cannot sense, senses twice or drives as well."""
        wrong = [line for line in (*sensed, *driven) if line >= self.lines]
        wrong += [line for line in sensed if line >= self.watchable or sensed.count(line) > 1 or line in driven]
        return wrong

    def start(self, frame: Frame, message: Start) -> None:
        if message.mode != 1:
            super().start(frame, message)
        elif self.state == RunState.SCANNING:
            self.refuse(frame, Refusal.RUNNING)
        elif self.watch is None:
            self.refuse(frame, Refusal.NOT_CONFIGURED)
        else:
            roles, self.roles = self.roles, self.watch_roles()
            self.line_check()
            self.roles = roles
            self.ack(frame)
            self.begin_watch()

    def watch_roles(self) -> bytes:
        """Roles that say which lines take part."""
        assert self.watch is not None
        return bytes(3 if line in self.watch.pairs else 0 for line in range(self.lines))

    def begin_watch(self) -> None:
        """The watch begins."""
        assert self.watch is not None
        self.counted = [Counted() for _ in self.watch.pairs[::2]]
        self.ended, self.unlisted = [], 0
        self.watching, self.state = True, RunState.SCANNING
        self.poll_at = self.watched_at = self.now + self.poll_us

    def stop(self, frame: Frame) -> None:
        self.end_watch()
        super().stop(frame)

    def silence(self) -> None:
        self.end_watch()
        super().silence()

    def end_watch(self) -> None:
        """What was seen still leaves."""
        if self.watching:
            self.report_openings()
            self.report_watched()
        self.watching = False

    # watching --------------------------------------------------------------------------------------------------

    def events(self) -> list[int]:
        due = super().events()
        return due if not self.watching else [*(at for at in due if at != self.scan_at), self.poll_at]

    def scan(self) -> None:
        if not self.watching:
            super().scan()

    def run(self) -> None:
        if self.watching and self.poll_at <= self.now:
            self.poll_at = self.now + self.poll_us
            self.poll()
        super().run()

    def poll(self) -> None:
        """Look at every pair, say what is due."""
        assert self.watch is not None
        closed = self.keyboard(self.now)
        for pair, counted in enumerate(self.counted):
            sensed, driven = self.watch.pairs[2 * pair : 2 * pair + 2]
            self.look(pair, counted, (driven, sensed) in closed)
        if self.ended and self.ended_at + self.openings_us <= self.now:
            self.report_openings()
        if self.watched_at <= self.now:
            self.watched_at = self.now + self.watched_us
            self.report_watched()

    def look(self, pair: int, counted: Counted, closed: bool) -> None:
        """One pair reads closed or open."""
        if counted.closed and not closed:
            counted.opened_at = self.now
        elif closed and not counted.closed and counted.opened_at is not None:
            length = self.now - counted.opened_at
            counted.openings += 1
            counted.open_us += length
            self.end_opening(Opening(pair, self.clock_at(counted.opened_at), length))
        counted.closed = closed

    def end_opening(self, one: Opening) -> None:
        """An opening has ended."""
        if not self.ended:
            self.ended_at = self.now
        self.ended.append(one)
        if len(self.ended) == self.entries:
            self.report_openings()

    def report_openings(self) -> None:
        """OPENINGS."""
        part, self.ended = tuple(self.ended), []
        if part:
            self.send(Openings(part))

    def report_watched(self) -> None:
        """WATCHED."""
        first, second = (*self.counted, Counted())[:2]
        bits = sum(1 << pair for pair, counted in enumerate(self.counted) if counted.closed)
        self.send(self.watched(bits, first, second))

    def watched(self, bits: int, first: Counted, second: Counted) -> Watched:
        """What WATCHED says."""
        return Watched(
            self.clock_at(self.now), bits, first.openings, first.open_us, second.openings, second.open_us, 0,
            self.unlisted, self.shortest_ns,
        )  # fmt: skip
