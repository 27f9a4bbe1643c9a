"""Rules about a run: START to STOP. What every run's reports must look like stands in `scans`."""

from __future__ import annotations

from tailwise.conformance.expect import command, configure, heartbeat, roles_both, scan, signed, start
from tailwise.conformance.rule import Broken, NotApplicable, Rule
from tailwise.conformance.session import Session
from tailwise.conformance.spoken import spoken, type_name
from tailwise.wire.messages import (
    SCAN_PERIOD_MAX_US,
    Alive,
    Capability,
    Heartbeat,
    LineCheck,
    LineRole,
    LineStatus,
    Refusal,
    Refused,
    RunState,
    ScanMode,
    Start,
    State,
    Stop,
    Transitions,
)
from tailwise.words import conformance as words

_PERIOD_US = 10_000
_STOPPED_US = 200_000


def _line_check(board: Session, roles: bytes) -> LineCheck | None:
    """The LINE_CHECK of one START."""
    configure(board, roles)
    first = len(board.heard)
    answer = board.ask(Start(ScanMode.MATRIX)).answer
    board.live(0.1)
    command(board, Stop())
    if isinstance(answer, Refused) and answer.code != Refusal.HELD_LINE:
        raise Broken(words.wanted_ack(type_name(Start.TYPE), spoken(answer)))
    checks = [heard.message for heard in board.heard[first:] if isinstance(heard.message, LineCheck)]
    if len(checks) > 1:
        raise Broken(words.line_checks(len(checks)))
    return checks[0] if checks else None


def line_check_sent(board: Session) -> str:
    """LINE_CHECK comes if and only if the board announces it."""
    check = _line_check(board, roles_both(board))
    announced = bool(board.identity.capabilities & Capability.LINE_CHECK)
    if announced != (check is not None):
        raise Broken(words.line_checks(0 if check is None else 1))
    return words.line_checks(0 if check is None else 1)


def line_check_form(board: Session) -> str:
    """One status a line: not_used without a role, not_checked where it cannot be checked, a verdict where it can."""
    identity = board.identity
    if not identity.capabilities & Capability.LINE_CHECK:
        raise NotApplicable(words.NO_LINE_CHECK)
    roles = roles_both(board)[:-1] + bytes([LineRole.UNUSED])
    check = _line_check(board, roles)
    if check is None or len(check.statuses) != identity.line_count:
        raise Broken(words.field_is("statuses", None if check is None else check.statuses.hex()))
    checked = int.from_bytes(identity.checked_lines, "little")
    for line, (role, status) in enumerate(zip(roles, check.statuses, strict=True)):
        if role == LineRole.UNUSED:
            good = status == LineStatus.NOT_USED
        elif checked >> line & 1:
            good = status in (LineStatus.CLEAR, LineStatus.HELD_HIGH, LineStatus.HELD_LOW)
        else:
            good = status == LineStatus.NOT_CHECKED
        if not good:
            raise Broken(words.status_of(line, status))
    return words.field_is("statuses", check.statuses.hex())


def held_line(board: Session) -> str:
    """A line held from outside: START refused, the line named, nothing driven."""
    configure(board, roles_both(board))
    first = len(board.heard)
    answer = board.ask(Start(ScanMode.MATRIX)).answer
    if not isinstance(answer, Refused) or answer.code != Refusal.HELD_LINE:
        raise NotApplicable(words.NO_LINE_HELD)
    state = heartbeat(board).state
    log = board.heard[first:]
    checks = [heard.message for heard in log if isinstance(heard.message, LineCheck)]
    held = [line for line, status in enumerate(checks[0].statuses if checks else b"") if status in (2, 3)]
    scanned = any(isinstance(heard.message, State | Transitions) for heard in log)
    if scanned or state != RunState.REFUSED_DRIVE or held[:1] != [answer.detail]:
        raise Broken(words.held(answer.detail, held, state, scanned))
    return words.held(answer.detail, held, state, scanned)


def heartbeat_state(board: Session) -> str:
    """HEARTBEAT says idle, scanning, idle; scans are counted from START."""
    if (state := heartbeat(board).state) != RunState.IDLE:
        raise Broken(words.run_state(state))
    scan(board)
    beats = [heard.message for heard in board.live(1.3) if isinstance(heard.message, Heartbeat)]
    command(board, Stop())
    if any(beat.state != RunState.SCANNING for beat in beats) or len(beats) < 2 or beats[0].scans >= beats[-1].scans:
        raise Broken(words.beats([(beat.state, beat.scans) for beat in beats]))
    if (state := heartbeat(board).state) != RunState.IDLE:
        raise Broken(words.run_state(state))
    return words.beats([(beat.state, beat.scans) for beat in beats])


def stop_quiet(board: Session) -> str:
    """After STOP's ACK no STATE and no TRANSITIONS."""
    scan(board)
    board.live(0.2)
    asked = board.ask(Stop())
    if not asked.answers:
        raise Broken(words.wanted_ack(type_name(Stop.TYPE), spoken(None)))
    after = board.heard[board.heard.index(asked.answers[0]) + 1 :] + board.listen(0.4)
    late = sum(isinstance(heard.message, State | Transitions) for heard in after)
    if late:
        raise Broken(words.late_reports(late))
    return words.QUIET


def start_again(board: Session) -> str:
    """START after STOP needs no new settings."""
    configure(board, roles_both(board))
    for _ in range(3):
        start(board)
        if not any(isinstance(heard.message, State) for heard in board.live(0.1)):
            raise Broken(words.SCANNING_STOPPED)
        command(board, Stop())
    return words.SETTINGS_KEPT


def mixed_roles(board: Session) -> str:
    """One half of the lines only driven, the other only sensed: STATE has bitmaps for the driven half."""
    count = len(roles_both(board))
    scan(board, bytes([LineRole.DRIVEN] * (count // 2) + [LineRole.SENSED] * (count - count // 2)))
    sizes = {len(heard.message.closed) for heard in board.live(0.3) if isinstance(heard.message, State)}
    command(board, Stop())
    wanted = count // 2 * -(-count // 8)
    if sizes != {wanted}:
        raise Broken(words.state_sizes(sorted(sizes), wanted))
    return words.state_sizes(sorted(sizes), wanted)


def scan_period(board: Session) -> str:
    """10 ms asked for, 10 ms kept (to 5 %), where a scan fits in."""
    scan(board, period_us=_PERIOD_US)
    beats = [heard.message for heard in board.live(1.3) if isinstance(heard.message, Heartbeat)]
    command(board, Stop())
    if len(beats) < 2:
        raise Broken(words.NO_HEARTBEAT)
    first, last = beats[0], beats[-1]
    if last.worst_scan_us > _PERIOD_US:
        raise NotApplicable(words.scan_too_long(last.worst_scan_us))
    scans = last.scans - first.scans
    mean_us = signed(last.clock - first.clock) / scans if scans > 0 else 0.0
    if not 0.95 * _PERIOD_US <= mean_us <= 1.05 * _PERIOD_US:
        raise Broken(words.mean_period(mean_us))
    return words.mean_period(mean_us)


def longest_settle(board: Session) -> str:
    """At the longest settle time a scan of all lines still takes at most 20 ms."""
    scan(board, settle_ns=board.identity.settle_max_ns)
    beats = [heard.message for heard in board.live(0.7) if isinstance(heard.message, Heartbeat)]
    command(board, Stop())
    if not beats:
        raise Broken(words.NO_HEARTBEAT)
    worst = beats[-1].worst_scan_us
    if not 0 < worst <= SCAN_PERIOD_MAX_US:
        raise Broken(words.field_is("worst_scan_us", worst))
    return words.field_is("worst_scan_us", worst)


def long_run(board: Session) -> str:
    """Two seconds of scanning while the host says ALIVE every 20 ms: enough to judge what every run must look like."""
    scan(board)
    heard = board.live(2.0, 0.02)
    want = command(board, Alive())
    command(board, Stop())
    states = [each.message for each in heard if isinstance(each.message, State)]
    if not states or signed(want.clock - states[-1].clock) > _STOPPED_US:
        raise Broken(words.SCANNING_STOPPED)
    return words.run_seen(len(states), sum(isinstance(each.message, Transitions) for each in heard), want.clock)


HELD_LINE = Rule("held_line", held_line)
RULES = (
    Rule("line_check_sent", line_check_sent),
    Rule("line_check_form", line_check_form),
    Rule("heartbeat_state", heartbeat_state),
    Rule("stop_quiet", stop_quiet),
    Rule("start_again", start_again),
    Rule("mixed_roles", mixed_roles),
    Rule("scan_period", scan_period),
    Rule("longest_settle", longest_settle),
    Rule("long_run", long_run),
)
