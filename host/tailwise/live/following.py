"""A replay as a run: the records pass as they are, and what they say becomes the same events as on a board.

Nothing is asked and nothing is waited for, so a recording without a handshake, cut or written by someone else replays
as well as a whole one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from tailwise.harness.wiring import Wiring
from tailwise.link.base import LinkEnded, LinkLost
from tailwise.link.replay import ReplayLink
from tailwise.live.asking import STEP_S, Between
from tailwise.live.clock import RunClock
from tailwise.live.conversation import Conversation, Heard
from tailwise.live.events import (
    BoardRestarted,
    Connected,
    LinesChecked,
    LinkDown,
    LinkUp,
    LiveEvent,
    MarkMade,
    Refused,
    Started,
)
from tailwise.live.session import follow_clock, lines_held
from tailwise.recording.format import Linked, LinkEvent, Marked, Record
from tailwise.wire import messages as wire
from tailwise.wire.messages import Ack, Booted, Identity, LineCheck, Refusal, Start, Stop
from tailwise.words import live as words


class Following:
    """One recording through one run; ended by LinkEnded. `marks`: whether the recording's own marks count."""

    def __init__(
        self, link: ReplayLink, wiring: Wiring, record: Callable[[Record], None], between: Between, *, marks: bool
    ) -> None:
        self._link = link
        self._wiring = wiring
        self._record = record
        self._between = between
        self._marks = marks
        self._down_since_us: int | None = None
        self._held_lines: tuple[str, ...] = ()
        self._only_stopped = False
        self._booted = False
        self.clock = RunClock()

    def run(self) -> Iterator[LiveEvent]:
        """Follow the recording to its end."""
        talk = Conversation(self._link, self._record)
        while True:
            yield from self._between()
            try:
                heard = talk.hear(STEP_S)
            except (LinkLost, LinkEnded) as end:
                yield from self._pass_records()
                if isinstance(end, LinkEnded):
                    raise
                yield LinkDown(str(end), words.NEXT_REPLAY)
                if not self._link.reopen():
                    raise LinkEnded from end
                talk.begin()
                yield from self._pass_records()
                yield LinkUp(self._link.url)
                continue
            yield from self._pass_records()
            if heard is not None:
                yield from self._notice(heard)

    def stop(self) -> None:
        """There is no board to stop."""

    def _pass_records(self) -> Iterator[LiveEvent]:
        for record in self._link.take_records():
            if isinstance(record, Marked):
                if not self._marks:
                    continue
                yield MarkMade(record.mark)
            self._record(record)
            if isinstance(record, Linked) and record.event is not LinkEvent.REOPENED:
                self._down_since_us = record.t_us
                self.clock.down(record.t_us)
                if record.event is LinkEvent.RESTARTED:
                    yield BoardRestarted(record.why)

    def _notice(self, heard: Heard) -> Iterator[LiveEvent]:
        match heard.message:
            case Identity() as identity:
                yield Connected(identity)
            case LineCheck(statuses=statuses):
                checked = LinesChecked(lines_held(self._wiring, statuses))
                self._held_lines = checked.held_lines
                yield checked
            case wire.Refused(command_type=Start.TYPE, code=Refusal.HELD_LINE):
                yield Refused(*words.held_lines(self._held_lines))
            case Ack(command_type=Start.TYPE, clock=clock):
                again = self.clock.started and not self._only_stopped
                down_us: int | None = 0 if self._down_since_us is None else heard.host_us - self._down_since_us
                down_us = None if self._only_stopped and self._down_since_us is None else down_us
                self._down_since_us = None
                self._only_stopped = self._booted = False
                yield Started(self.clock.start(clock, heard.host_us, down_us), again)
            case Ack(command_type=Stop.TYPE):
                self._only_stopped = not self._booted
                follow_clock(self.clock, heard)
            case Booted():
                self._booted, self._only_stopped = True, False
            case _:
                follow_clock(self.clock, heard)
