"""Rules about what every run reports: STATE, TRANSITIONS, and that both tell the same story. They read the whole log."""

from __future__ import annotations

from collections.abc import Iterator

from tailwise.conformance.expect import signed
from tailwise.conformance.rule import Broken, NotApplicable, Rule
from tailwise.conformance.session import Heard, Run, Session
from tailwise.wire.messages import (
    MAX_TRANSITIONS,
    SCAN_PERIOD_MAX_US,
    STATE_PERIOD_MAX_MS,
    TRANSITION_DELAY_MAX_MS,
    Ack,
    Heartbeat,
    LineRole,
    RunState,
    State,
    Transitions,
)
from tailwise.words import conformance as words

_DRIVEN = (LineRole.DRIVEN, LineRole.BOTH)
_SENSED = (LineRole.SENSED, LineRole.BOTH)
_DELAY_SLACK_US = 1000

Matrix = dict[tuple[int, int], bool]


def _runs(board: Session) -> Iterator[tuple[Run, list[Heard]]]:
    """Each run with what was heard in it."""
    if not board.runs:
        raise NotApplicable(words.NO_RUN)
    for run in board.runs:
        yield run, board.heard[run.first : run.end]


def _lines(roles: bytes, wanted: tuple[LineRole, ...]) -> list[int]:
    return [line for line, role in enumerate(roles) if role in wanted]


def matrix_of(state: State, roles: bytes, line_count: int) -> Matrix | None:
    """Readings by (driven, sensed); None where the bytes do not fit the roles."""
    driven, size = _lines(roles, _DRIVEN), -(-line_count // 8)
    if len(state.closed) != len(driven) * size:
        return None
    matrix: Matrix = {}
    for at, line in enumerate(driven):
        bits = int.from_bytes(state.closed[at * size : (at + 1) * size], "little")
        for sensed in range(8 * size):
            matrix[line, sensed] = bool(bits >> sensed & 1)
    return matrix


def state_first(board: Session) -> str:
    """STATE comes before any TRANSITIONS of its run."""
    for _, log in _runs(board):
        kinds = [type(heard.message) for heard in log if isinstance(heard.message, State | Transitions)]
        if kinds and kinds[0] is not State:
            raise Broken(words.TRANSITIONS_FIRST)
    return words.runs_seen(len(board.runs))


def state_period(board: Session) -> str:
    """At most 50 ms of the board from START's ACK to the first STATE and from STATE to STATE.

    A HEARTBEAT while scanning must not be older than that either, with the longest scan allowed for.
    """
    longest = 0
    for run, log in _runs(board):
        before = board.heard[run.first - 1].message
        assert isinstance(before, Ack)
        last = before.clock
        for heard in log:
            if isinstance(heard.message, State):
                longest = max(longest, signed(heard.message.clock - last))
                last = heard.message.clock
            elif isinstance(heard.message, Heartbeat) and heard.message.state == RunState.SCANNING:
                longest = max(longest, signed(heard.message.clock - last) - SCAN_PERIOD_MAX_US)
    if longest > STATE_PERIOD_MAX_MS * 1000:
        raise Broken(words.states_apart(longest))
    return words.states_apart(longest)


def state_size(board: Session) -> str:
    """A bitmap of ceil(line_count / 8) bytes for each driven line."""
    count = board.identity.line_count
    for run, log in _runs(board):
        for heard in log:
            if isinstance(heard.message, State) and matrix_of(heard.message, run.roles, count) is None:
                wanted = len(_lines(run.roles, _DRIVEN)) * -(-count // 8)
                raise Broken(words.state_sizes([len(heard.message.closed)], wanted))
    return words.runs_seen(len(board.runs))


def unread_bits(board: Session) -> str:
    """A line's own bit and the bits of lines that are not sensed or not there are 0."""
    count = board.identity.line_count
    for run, log in _runs(board):
        sensed = set(_lines(run.roles, _SENSED))
        for heard in log:
            matrix = matrix_of(heard.message, run.roles, count) if isinstance(heard.message, State) else None
            for (drive, sense), closed in (matrix or {}).items():
                if closed and (drive == sense or sense not in sensed):
                    raise Broken(words.bit_set(drive, sense))
    return words.runs_seen(len(board.runs))


def transitions_fit(board: Session) -> str:
    """Entries name a driven and another sensed line, at most 60, in the order of time."""
    entries = 0
    for run, log in _runs(board):
        driven, sensed = set(_lines(run.roles, _DRIVEN)), set(_lines(run.roles, _SENSED))
        for heard in log:
            if not isinstance(heard.message, Transitions):
                continue
            deltas = [entry.delta for entry in heard.message.entries]
            if deltas != sorted(deltas) or len(deltas) > MAX_TRANSITIONS:
                raise Broken(words.deltas(deltas))
            for entry in heard.message.entries:
                if entry.driven not in driven or entry.sensed not in sensed or entry.driven == entry.sensed:
                    raise Broken(words.odd_entry(entry.driven, entry.sensed))
            entries += len(deltas)
    return words.entries_seen(entries)


def _told_twice(board: Session) -> Iterator[tuple[list[tuple[int, int]], list[tuple[int, int]], int]]:
    """For each STATE with its predecessor, nothing lost or dropped between: pairs that differ, entries that change nothing."""
    count = board.identity.line_count
    for run, log in _runs(board):
        known: Matrix | None = None
        dropped, number, idle = 0, -1, list[tuple[int, int]]()
        for heard in log:
            whole = number < 0 or (heard.frame.number - number) % 65536 == 1
            number = heard.frame.number
            if not whole:
                known = None
            if isinstance(heard.message, Transitions) and known is not None:
                for entry in heard.message.entries:
                    pair = (entry.driven, entry.sensed)
                    if known.get(pair) == entry.closed:
                        idle.append(pair)
                    known[pair] = entry.closed
            elif isinstance(heard.message, State):
                shown = matrix_of(heard.message, run.roles, count)
                if known is not None and shown is not None and heard.message.dropped == dropped:
                    yield [pair for pair, closed in shown.items() if known.get(pair) != closed], idle, len(shown)
                known, dropped, idle = shown, heard.message.dropped, []


def state_agrees(board: Session) -> str:
    """The STATE before and the transitions in between give this STATE."""
    compared = 0
    for different, _, _ in _told_twice(board):
        if different:
            raise Broken(words.disagrees(different[0]))
        compared += 1
    return words.states_compared(compared)


def transitions_change(board: Session) -> str:
    """Every entry changes a reading."""
    compared = 0
    for _, idle, _ in _told_twice(board):
        if idle:
            raise Broken(words.changes_nothing(idle[0]))
        compared += 1
    return words.states_compared(compared)


def transition_delay(board: Session) -> str:
    """No ACK or HEARTBEAT of a later time than 4 ms after the scan of a sampling goes out before its transition."""
    oldest = 0
    for _, log in _runs(board):
        said: int | None = None
        scans = [heard.message.worst_scan_us for heard in log if isinstance(heard.message, Heartbeat)]
        scan_us = max(scans, default=SCAN_PERIOD_MAX_US)
        for heard in log:
            if isinstance(heard.message, Ack | Heartbeat):
                said = heard.message.clock
            elif isinstance(heard.message, Transitions) and said is not None:
                oldest = max(oldest, signed(said - heard.message.clock) - scan_us)
    if oldest > TRANSITION_DELAY_MAX_MS * 1000 + _DELAY_SLACK_US:
        raise Broken(words.transition_held(oldest))
    return words.transition_held(oldest)


def sampling_in_order(board: Session) -> str:
    """Transitions numbered before a STATE were sampled by its clock, those numbered after it later than that."""
    for _, log in _runs(board):
        state: int | None = None
        sampled: int | None = None
        for heard in log:
            if isinstance(heard.message, State):
                if sampled is not None and signed(heard.message.clock - sampled) < 0:
                    raise Broken(words.out_of_order(sampled, heard.message.clock))
                state = heard.message.clock
            elif isinstance(heard.message, Transitions) and heard.message.entries:
                if state is not None and signed(heard.message.clock - state) < 0:
                    raise Broken(words.out_of_order(state, heard.message.clock))
                sampled = heard.message.clock + heard.message.entries[-1].delta
    return words.runs_seen(len(board.runs))


def dropped_grows(board: Session) -> str:
    """`dropped` starts at 0 with each START and never shrinks in a run."""
    most = 0
    for _, log in _runs(board):
        last = 0
        first = True
        for heard in log:
            if not isinstance(heard.message, State):
                continue
            if heard.message.dropped < last or (first and heard.message.dropped):
                raise Broken(words.dropped_went(last, heard.message.dropped))
            first, last = False, heard.message.dropped
        most = max(most, last)
    return words.field_is("dropped", most)


RULES = (
    Rule("state_first", state_first),
    Rule("state_period", state_period),
    Rule("state_size", state_size),
    Rule("unread_bits", unread_bits),
    Rule("transitions_fit", transitions_fit),
    Rule("state_agrees", state_agrees),
    Rule("transitions_change", transitions_change),
    Rule("transition_delay", transition_delay),
    Rule("sampling_in_order", sampling_in_order),
    Rule("dropped_grows", dropped_grows),
)
