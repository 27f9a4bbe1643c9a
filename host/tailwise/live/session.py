"""The host's side of the protocol, from the first HELLO to STOP, over any link.

Order: 00 byte, HELLO until IDENTITY, STOP, SET_LINES, SET_SCAN, START, then ALIVE each 500 ms. What can happen on the
way: garbage and silence after opening (a boot loader), a board that restarts, one that stops because it did not hear
the host, silence of 1.5 s, a port that breaks and comes back under another name. Each is written into the recording
and ends in a new START; a run that cannot go on ends with the reason. Time is the link's, so virtual links run as fast
as they go and always alike.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterator

from tailwise.harness.wiring import Wiring
from tailwise.link.base import Link, LinkEnded, LinkLost
from tailwise.live.asking import STEP_S, Between, ask, handshake
from tailwise.live.clock import RunClock
from tailwise.live.conversation import Conversation, Heard
from tailwise.live.events import (
    BoardRestarted,
    Connected,
    LinesChecked,
    LinkDown,
    LinkUp,
    LiveEvent,
    Started,
    Watching,
    WiringKept,
)
from tailwise.live.liveness import Liveness
from tailwise.live.trouble import BoardStopped, NoAnswer, Unusable
from tailwise.live.watch import MATRIX, WatchRequest, can_watch
from tailwise.model.layout import Layout
from tailwise.model.observation import LineHeld
from tailwise.recording.format import Linked, LinkEvent, Record
from tailwise.wire.messages import (
    PROTOCOL,
    Ack,
    Command,
    Heartbeat,
    Identity,
    LineCheck,
    LineStatus,
    ScanMode,
    SetLines,
    SetScan,
    Start,
    State,
    Stop,
    Transitions,
    Watched,
)
from tailwise.words import live as words

RETRY_PAUSE_S = 0.25
MOST_RESTARTS = 5
HELD: dict[int, LineHeld] = {
    LineStatus.CLEAR: LineHeld.CLEAR,
    LineStatus.HELD_HIGH: LineHeld.HIGH,
    LineStatus.HELD_LOW: LineHeld.LOW,
}


class Session:
    """One board through one run. `run` is the whole protocol; only an exception ends it (see trouble.py, LinkEnded)."""

    def __init__(
        self,
        link: Link,
        layout: Layout,
        wiring: Wiring,
        record: Callable[[Record], None],
        between: Between,
        regain_s: float | None,
        known: Callable[[Identity], tuple[Wiring, str] | None] = lambda _: None,
    ) -> None:
        """known: a wiring kept for this board, with how it was found; asked once, before any line is set."""
        self._link = link
        self._layout = layout
        self._wiring = wiring
        self._record = record
        self._between = between
        self._regain_s = regain_s
        self._known = known
        self._talk = Conversation(link, record)
        self._down_since_us: int | None = None
        self._lost = False
        self._restarts = 0
        self._identity: Identity | None = None
        self._held_lines: tuple[str, ...] = ()
        self._asked = MATRIX
        self._asked_done = MATRIX
        self._wanted = MATRIX
        self.clock = RunClock()

    def choose(self, request: WatchRequest) -> None:
        """Watch these pairs from now on, or (no pairs) scan the matrix again; from any thread, soon."""
        self._asked = request

    def run(self) -> Iterator[LiveEvent]:
        """Talk to the board until something ends the run."""
        trouble: LinkLost | NoAnswer | None = None
        while True:
            try:
                if trouble is None:
                    self._talk.begin()
                else:
                    yield from self._regain(trouble)
                yield from self._connect()
                yield from self._start_and_scan()
            except LinkLost as error:
                trouble = error
            except NoAnswer as error:
                if self._identity is None and not self._lost:
                    raise Unusable(self._why_no_answer()) from error
                trouble = error

    def stop(self) -> None:
        """STOP, at most three times; a board or a port that is gone is no matter any more."""
        self._between = _nothing
        try:
            for _ in self._ask(Stop()):
                pass
        except (LinkLost, LinkEnded, NoAnswer, BoardStopped, Unusable):
            return

    def _connect(self) -> Iterator[LiveEvent]:
        """HELLO and IDENTITY, and whether board, layout and this version fit each other."""
        identity = yield from handshake(self._link, self._talk, self._between)
        if not identity.protocol_min <= PROTOCOL <= identity.protocol_max:
            raise Unusable(words.protocol_mismatch(identity.protocol_min, identity.protocol_max, PROTOCOL))
        if identity.clock_tick_ns != 1000:
            raise Unusable(words.odd_clock(identity.clock_tick_ns, PROTOCOL))
        kept = self._known(identity) if self._identity is None else None
        if kept is not None:
            self._wiring = kept[0]
        if self._identity is not None and self._identity.unique_id != identity.unique_id:
            raise Unusable(words.another_board(_called(self._identity), _called(identity)))
        self._identity = identity
        yield Connected(identity)
        if kept is not None:
            yield WiringKept(kept[1])
        wired = len(self._wiring.roles())
        if identity.line_count < wired:
            needed = len(self._layout.lines)
            raise Unusable(words.too_few_lines(self._layout.id, needed, wired, identity.line_count, identity.board))

    def _why_no_answer(self) -> words.Advice:
        if self._talk.frames_heard:
            return words.frames_only(self._link.url, self._talk.frames_heard)
        if self._talk.bytes_heard:
            return words.garbage_only(self._link.url, self._talk.bytes_heard, PROTOCOL)
        return words.no_answer(self._link.url)

    def _start_and_scan(self) -> Iterator[LiveEvent]:
        """Configure, start and scan, again after each restart of the board and each change of mode."""
        while True:
            try:
                for command in (Stop(), SetLines(self._wiring.roles()), SetScan(0, 0)):
                    yield from self._ask(command)
                yield from self._set_watch()
                yield from self._start()
                yield from self._scan()
            except BoardStopped as stopped:
                self._restarts += 1
                if self._restarts >= MOST_RESTARTS:
                    raise Unusable(words.restarts_again_and_again(self._restarts)) from stopped
                if self.clock.started and self._down_since_us is None:
                    self._go_down(LinkEvent.RESTARTED, stopped.why)
                    yield BoardRestarted(stopped.why)
                if stopped.booted:
                    yield from self._connect()

    def _set_watch(self) -> Iterator[LiveEvent]:
        """Tell the board what to watch, where it can; else the matrix goes on and the face learns why."""
        request = self._asked
        changed, self._asked_done = request != self._asked_done, request
        self._wanted = MATRIX
        if request.pairs:
            why = can_watch(request, self._wiring, self._identity)
            if not why:
                try:
                    yield from self._ask(request.command(self._wiring))
                    self._wanted = request
                except Unusable as error:
                    why = error.advice[0]
            if changed:
                yield Watching(self._wanted.pairs, self._wanted.switched, why)
        elif changed:
            yield Watching((), False)

    def _start(self) -> Iterator[LiveEvent]:
        """START until its ACK; run time goes on over the time without a board."""
        if self._lost:
            self._record(Linked(self._link.now_us(), LinkEvent.REOPENED))
            self._lost = False
        asked_us = self._link.now_us()
        try:
            ack = yield from self._ask(Start(ScanMode.WATCH if self._wanted.pairs else ScanMode.MATRIX))
        except Unusable as error:
            if self._held_lines:
                raise Unusable(words.held_lines(self._held_lines)) from error
            raise
        again = self.clock.started and self._down_since_us is not None
        down_us = None if self._down_since_us is None else asked_us - self._down_since_us
        self._down_since_us = None
        yield Started(self.clock.start(ack.clock, self._link.now_us(), down_us), again)

    def _scan(self) -> Iterator[LiveEvent]:
        """Listen and stay alive, until another mode is chosen or an exception ends it."""
        alive = Liveness(self._link, self._talk)
        while self._asked == self._asked_done:
            yield from self._between()
            alive.speak()
            heard = self._talk.hear(STEP_S)
            if heard is not None:
                if isinstance(heard.message, State | Watched):
                    self._restarts = 0
                alive.heard(heard)
                yield from self._notice(heard)
            else:
                alive.check()

    def _ask(self, command: Command) -> Generator[LiveEvent, None, Ack]:
        return ask(self._link, self._talk, self._between, self._notice, command)

    def _notice(self, heard: Heard) -> Iterator[LiveEvent]:
        """What any frame tells besides being an answer: the board's clock, and the check of the lines."""
        follow_clock(self.clock, heard)
        if isinstance(heard.message, LineCheck):
            checked = LinesChecked(lines_held(self._wiring, heard.message.statuses))
            self._held_lines = checked.held_lines
            yield checked

    def _go_down(self, event: LinkEvent, why: str) -> None:
        now = self._link.now_us()
        self._record(Linked(now, event, why))
        self._down_since_us = now
        self.clock.down(now)

    def _regain(self, trouble: LinkLost | NoAnswer) -> Iterator[LiveEvent]:
        """Get the board back; Unusable where it stays away longer than the run waits.

        A board that fell silent on a living port is asked again before the port is opened anew, which may reset it.
        """
        reopen = isinstance(trouble, LinkLost) or trouble.reopen or self._lost
        if not self._lost:
            self._lost = True
            self._go_down(LinkEvent.LOST, str(trouble))
            yield LinkDown(str(trouble), words.NEXT_RECONNECT)
        if reopen:
            tries = 0
            while not self._reopened():
                tries += 1
                self._check_patience(trouble, tries)
                yield from self._between()
            yield LinkUp(self._link.url)
        self._check_patience(trouble, 0)
        self._talk.begin()

    def _check_patience(self, trouble: LinkLost | NoAnswer, tries: int) -> None:
        """Unusable where the board has been away too long; vain tries count as time, for links whose time stands still."""
        away_s = (self._link.now_us() - (self._down_since_us or 0)) / 1e6
        if self._regain_s is not None and max(away_s, tries * RETRY_PAUSE_S) > self._regain_s:
            raise Unusable(words.not_regained(str(trouble)))

    def _reopened(self) -> bool:
        """One try to open the port again, followed by a pause where the link's time does not pass by itself."""
        before = self._link.now_us()
        if self._link.reopen():
            return True
        if self._link.now_us() - before < RETRY_PAUSE_S / 2 * 1e6:
            time.sleep(RETRY_PAUSE_S)
        return False


def follow_clock(clock: RunClock, heard: Heard) -> None:
    """Any frame that carries the board's clock moves run time on."""
    match heard.message:
        case State(clock=us) | Heartbeat(clock=us) | Ack(clock=us) | Watched(clock=us):
            clock.frame(us, heard.host_us)
        case Transitions(clock=us, entries=(*_, last)):
            clock.frame(us + last.delta, heard.host_us)
        case _:
            pass


def lines_held(wiring: Wiring, statuses: bytes) -> dict[str, LineHeld]:
    """LINE_CHECK by layout line; a line the board says nothing about was not checked."""
    status = dict(enumerate(statuses))
    return {name: HELD.get(status.get(number, -1), LineHeld.NOT_CHECKED) for name, number in wiring.board_line.items()}


def _called(identity: Identity) -> str:
    return f"{identity.board} {identity.unique_id.hex()}".rstrip()


def _nothing() -> Iterator[LiveEvent]:
    return iter(())
