"""The practice bench: virtual board, membrane and operator in one virtual time.

The operator's run time starts at the board's first acknowledged START and never stops; the board may restart in
between. Times are microseconds since the link was opened, except run time.
"""

from __future__ import annotations

import heapq
import math
from collections import deque
from dataclasses import dataclass
from random import Random

from tailwise.circuit.inputs import REFERENCE_INPUTS, Inputs
from tailwise.harness.wiring import Wiring, plain_wiring
from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.practice.board import Board
from tailwise.practice.boardkind import PRACTICE_BOARD, BoardKind
from tailwise.practice.contacts import ContactHealth
from tailwise.practice.linecheck import check_lines
from tailwise.practice.membrane import TRACE_OHM_PER_MM, Membrane
from tailwise.practice.noise import QUIET, Noise, NoisyLine
from tailwise.practice.operator import CAREFUL, Habits, Operator, Performance, Span, Step
from tailwise.practice.plan import make_plan, timeline
from tailwise.practice.planted import Planted
from tailwise.practice.seating import proper_seat
from tailwise.practice.slots import Change
from tailwise.practice.watcher import Watcher
from tailwise.wire.messages import ResetCause

BOOT_US = 250_000
BYTE_US = 20


@dataclass(frozen=True)
class Setup:
    """Everything that decides a bench; the same setup gives the same bytes for the same commands.

    layout: what the operator believes is plugged in. real_layout: what is, where that is something else (its lines sit
    on board lines 0, 1, 2 ... in its own harness order). inserted: False with no membrane in the sockets. contact_ohm: lowest
    and highest resistance of a sound closed contact (makers state a loop under 100 ohm as usual); each key has its own.
    """

    layout: Layout
    script: tuple[Step, ...] = ()
    planted: tuple[Planted, ...] = ()
    seed: int = 1
    wiring: Wiring | None = None
    real_layout: Layout | None = None
    inserted: bool = True
    habits: Habits = CAREFUL
    marking: frozenset[Deed] = frozenset()
    noise: Noise = QUIET
    board: BoardKind = PRACTICE_BOARD
    inputs: Inputs = REFERENCE_INPUTS
    boot_us: int = BOOT_US
    contact_ohm: tuple[float, float] = (10.0, 100.0)
    ohm_per_mm: float = TRACE_OHM_PER_MM

    def wired(self) -> Wiring:
        """The wiring, the plain one where none is given."""
        return self.wiring or plain_wiring(self.layout)


class Bench:
    """The virtual bench; `now_us` moves only through `advance`."""

    def __init__(self, setup: Setup) -> None:
        self.setup = setup
        really = setup.real_layout or setup.layout
        self.performance: Performance = Operator(
            setup.layout, Random(f"{setup.seed} operator"), setup.habits, setup.marking, frozenset(really.key_by_id)
        ).perform(setup.script)
        wiring = setup.wired() if setup.real_layout is None else plain_wiring(really)
        plan = make_plan(really, proper_seat(wiring.board_line), setup.planted, self._sound_contacts(really))
        self.membrane = Membrane(
            really, plan.seat if setup.inserted else {}, setup.inputs, plan.foreign, plan.diodes, setup.ohm_per_mm
        )
        self.changes: tuple[Change, ...] = timeline(plan, self.performance, Random(f"{setup.seed} contacts"))
        self._next_change = 0
        while self._next_change < len(self.changes) and self.changes[self._next_change].at_us < 0:
            self.membrane.apply(self.changes[self._next_change])
            self._next_change += 1
        self._line = NoisyLine(setup.noise, Random(f"{setup.seed} noise"))
        self._marks = deque(self.performance.marks)
        self._restarts = deque(self.performance.restarts)
        self._cause = ResetCause.EXTERNAL
        self._outbox: list[tuple[int, int, bytes]] = []
        self._sent = 0
        self._free_us = 0
        self.now_us = 0
        self.run_zero_us: int | None = None
        self.refused_us: int | None = None
        self.board: Board | None = None
        self._boot_at: int | None = None
        self.power_up()

    def _sound_contacts(self, layout: Layout) -> dict[str, ContactHealth]:
        """Every contact with a resistance of its own, spread evenly on a logarithmic scale."""
        random = Random(f"{self.setup.seed} film")
        low, high = (math.log(ohm) for ohm in self.setup.contact_ohm)
        return {key.id: ContactHealth(round(math.exp(random.uniform(low, high)), 1)) for key in layout.keys}

    # the cable -------------------------------------------------------------------------------------------------

    def power_up(self, cause: ResetCause = ResetCause.EXTERNAL) -> None:
        """The port is opened (or the supply comes back): the board starts anew and is silent while it boots."""
        self.board = None
        self._cause = cause
        self._outbox.clear()
        self._free_us = self.now_us
        self._boot_at = self.now_us + self.setup.boot_us
        garbage = self._line.opening()
        if garbage:
            self._queue(self.now_us, garbage)

    def power_down(self) -> None:
        """The cable is pulled: the board is gone, and with it all that was on its way."""
        self.board = None
        self._boot_at = None
        self._outbox.clear()

    def unplugged(self) -> Span | None:
        """The stretch of run time without a cable that holds now, if any."""
        run = self.run_us()
        return next(
            (span for span in self.performance.unplugged if run is not None and span.start_us <= run < span.end_us), None
        )

    # time ------------------------------------------------------------------------------------------------------

    def run_us(self) -> int | None:
        """Run time now; None before the first acknowledged START."""
        return None if self.run_zero_us is None else self.now_us - self.run_zero_us

    def next_us(self) -> int | None:
        """When something happens next."""
        times = [] if self._boot_at is None else [self._boot_at]
        if self.board is not None:
            due = self.board.next_us()
            if due is not None:
                times.append(due)
        if self._outbox:
            times.append(self._outbox[0][0])
        if self.run_zero_us is not None:
            if self._next_change < len(self.changes):
                times.append(self.run_zero_us + self.changes[self._next_change].at_us)
            times.append(self.run_zero_us + self.performance.end_us)
            times += [self.run_zero_us + span.start_us for span in self.performance.unplugged]
            if self._restarts:
                times.append(self.run_zero_us + self._restarts[0])
        return min((at for at in times if at > self.now_us), default=None)

    def advance(self, at_us: int) -> None:
        """Move to a time no later than `next_us`, and do what is due then."""
        self.now_us = max(self.now_us, at_us)
        if self._boot_at is not None and self._boot_at <= self.now_us:
            self._boot(self._boot_at)
        if self.board is not None:
            due = self.board.next_us()
            while due is not None and due <= self.now_us:
                self.board.run_to(due)
                due = self.board.next_us()
        self._change_membrane()
        run = self.run_us()
        if run is not None and self._restarts and self._restarts[0] <= run:
            self._restarts.popleft()
            if self.board is not None:
                self.power_up(ResetCause.BROWN_OUT)

    def _change_membrane(self) -> None:
        run = self.run_us()
        if run is None:
            return
        changed = False
        while self._next_change < len(self.changes) and self.changes[self._next_change].at_us <= run:
            changed = self.membrane.apply(self.changes[self._next_change]) or changed
            self._next_change += 1
        if changed and self.board is not None:
            self.board.membrane_changed(self.now_us)

    def _boot(self, at_us: int) -> None:
        self._boot_at = None
        self.board = Board(
            self.setup.board,
            at_us,
            self._cause,
            self._emit,
            self.membrane.readings,
            lambda roles: check_lines(self.membrane, roles, self.setup.board.checked),
            lambda watch, start_us: Watcher(watch, self.membrane, start_us),
            lambda now_us: self._free_us - now_us,
        )

    # bytes -----------------------------------------------------------------------------------------------------

    def _emit(self, at_us: int, frame: bytes) -> None:
        self._queue(at_us, self._line.carry(frame))

    def _queue(self, at_us: int, data: bytes) -> None:
        """Bytes leave one after another at the speed of the line."""
        if data:
            self._free_us = max(self._free_us, at_us) + BYTE_US * len(data)
            heapq.heappush(self._outbox, (self._free_us, self._sent, data))
            self._sent += 1

    def receive(self, data: bytes) -> None:
        """Bytes from the host, at once; a booting board hears nothing."""
        board = self.board
        if board is None:
            return
        refused = board.drive_refused
        board.receive(self.now_us, data)
        if board.started_us is not None and self.run_zero_us is None:
            self.run_zero_us = board.started_us
        if board.drive_refused and not refused and self.refused_us is None:
            self.refused_us = self.now_us

    def take_bytes(self) -> bytes:
        """All bytes that have arrived by now."""
        out = bytearray()
        while self._outbox and self._outbox[0][0] <= self.now_us:
            out += heapq.heappop(self._outbox)[2]
        return bytes(out)

    def take_marks(self) -> list[Mark]:
        """Marks made by now and not taken before."""
        run = self.run_us()
        marks: list[Mark] = []
        while run is not None and self._marks and self._marks[0].at_us <= run:
            marks.append(self._marks.popleft())
        return marks

    def over(self) -> bool:
        """Whether the operator has finished."""
        run = self.run_us()
        return run is not None and run >= self.performance.end_us
