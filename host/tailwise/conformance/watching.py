"""Rules about watching without pause, for boards that announce it: SET_WATCH, and a watch from START to STOP.

What WATCHED and OPENINGS must look like stands in `watched`.
"""

from __future__ import annotations

from tailwise.conformance.expect import command, configure, heartbeat, roles_both, scan, signed, start, want_refusal
from tailwise.conformance.rule import Broken, NotApplicable, Rule
from tailwise.conformance.session import Heard, Session
from tailwise.conformance.spoken import spoken, type_name
from tailwise.conformance.watchpairs import Pairs, choose, need_watch
from tailwise.wire.messages import (
    HOST_SILENCE_MS,
    STATE_PERIOD_MAX_MS,
    Alive,
    Booted,
    Capability,
    LineCheck,
    LineRole,
    LineStatus,
    Openings,
    Refusal,
    RunState,
    ScanMode,
    SetLines,
    SetScan,
    SetWatch,
    Start,
    State,
    Stop,
    Watched,
    WatchPullUp,
)
from tailwise.words import conformance as said
from tailwise.words import conformance_watch as words

_WAIT_S = HOST_SILENCE_MS / 1000 + 0.6
_EARLIEST_US = (HOST_SILENCE_MS - STATE_PERIOD_MAX_MS) * 1000
_LATEST_US = (HOST_SILENCE_MS + 200) * 1000
_STOPPED_US = 200_000


def _watch(board: Session, pairs: Pairs, lines: bytes) -> None:
    command(board, SetWatch(pairs.pull_up, lines))
    start(board, ScanMode.WATCH)


def _reports(heard: list[Heard]) -> list[Heard]:
    return [each for each in heard if isinstance(each.message, Watched | Openings)]


def watch_unconfigured(board: Session) -> str:
    """START watch before any SET_WATCH since the reset; it must be tried before any rule sends one."""
    need_watch(board)
    if not any(isinstance(heard.message, Booted) for heard in board.heard):
        raise NotApplicable(said.NO_RESET_SEEN)
    want_refusal(board.ask(Start(ScanMode.WATCH)), Refusal.NOT_CONFIGURED)
    return said.refused_with(Refusal.NOT_CONFIGURED.name.lower())


def watch_set(board: Session) -> str:
    """Some line can be sensed against some other, alone and with a second pair where there is another such line."""
    pairs = choose(board)
    if not pairs.two:
        raise NotApplicable(words.ONE_PAIR_ONLY)
    return words.pairs_taken(tuple(pairs.one), tuple(pairs.two), pairs.pull_up.name.lower())


def watch_set_refused(board: Session) -> str:
    """No pair, three pairs, half a pair, an unknown pull-up; lines it lacks, twice sensed, sensed and driven at once."""
    pairs = choose(board)
    sensed, driven = pairs.one
    absent = board.identity.line_count
    command(board, SetWatch(pairs.pull_up, pairs.one))
    for payload in (b"", b"\0", bytes((pairs.pull_up, 2, sensed)), bytes((pairs.pull_up, 2, sensed, driven, 0))):
        want_refusal(board.ask_frame(SetWatch.TYPE, payload), Refusal.BAD_PAYLOAD)
    for lines in (b"", bytes((sensed,)), bytes((sensed, driven, sensed)), bytes((sensed, driven)) * 3):
        want_refusal(board.ask(SetWatch(pairs.pull_up, lines)), Refusal.BAD_PAYLOAD, *_also(lines))
    want_refusal(board.ask(SetWatch(200, pairs.one)), Refusal.BAD_PAYLOAD)
    wrong: tuple[tuple[int, ...], ...] = (
        (absent, driven),
        (sensed, absent),
        (sensed, sensed),
        (sensed, driven, driven, sensed),
        (sensed, driven, sensed, driven),
    )
    for unfit in wrong:
        want_refusal(board.ask(SetWatch(WatchPullUp.OWN, bytes(unfit))), Refusal.BAD_LINE)
    start(board, ScanMode.WATCH)
    watched = [heard.message for heard in board.live(0.2) if isinstance(heard.message, Watched)]
    command(board, Stop())
    if not watched:
        raise Broken(words.WATCH_STOPPED)
    return said.refused_with(f"{Refusal.BAD_PAYLOAD.name.lower()}, {Refusal.BAD_LINE.name.lower()}")


def _also(lines: bytes) -> tuple[Refusal, ...]:
    """Three pairs of the same lines are also a line that is sensed twice: any of the reasons may be given."""
    return (Refusal.BAD_LINE,) if len(lines) > 2 else ()


def watch_start(board: Session) -> str:
    """LINE_CHECK if announced, with statuses for the watched lines alone; ACK; WATCHED."""
    pairs = choose(board)
    first = len(board.heard)
    _watch(board, pairs, pairs.one)
    heard = board.live(0.2)
    command(board, Stop())
    checks = [each.message for each in board.heard[first:] if isinstance(each.message, LineCheck)]
    if len(checks) != bool(board.identity.capabilities & Capability.LINE_CHECK):
        raise Broken(said.line_checks(len(checks)))
    for line, status in enumerate(checks[0].statuses if checks else b""):
        if (status == LineStatus.NOT_USED) != (line not in pairs.one):
            raise Broken(said.status_of(line, status))
    if not any(isinstance(each.message, Watched) for each in heard):
        raise Broken(words.WATCH_STOPPED)
    return said.line_checks(len(checks))


def watch_running(board: Session) -> str:
    """Settings and START are refused in a watch, SET_WATCH in a scan too, and what goes on goes on."""
    pairs = choose(board)
    _watch(board, pairs, pairs.one)
    board.live(0.1)
    setting = SetWatch(pairs.pull_up, pairs.one)
    for message in (SetLines(b"\x03\x03"), SetScan(1000, 0), setting, Start(ScanMode.MATRIX), Start(ScanMode.WATCH)):
        want_refusal(board.ask(message), Refusal.RUNNING)
    if not any(isinstance(heard.message, Watched) for heard in board.live(0.2)):
        raise Broken(words.WATCH_STOPPED)
    command(board, Stop())
    scan(board)
    want_refusal(board.ask(setting), Refusal.RUNNING)
    if not any(isinstance(heard.message, State) for heard in board.live(0.2)):
        raise Broken(said.SCANNING_STOPPED)
    command(board, Stop())
    return words.GOES_ON


def watch_stop_quiet(board: Session) -> str:
    """After STOP's ACK no WATCHED and no OPENINGS."""
    pairs = choose(board)
    _watch(board, pairs, pairs.one)
    board.live(0.2)
    asked = board.ask(Stop())
    if not asked.answers:
        raise Broken(said.wanted_ack(type_name(Stop.TYPE), spoken(None)))
    late = _reports(board.heard[board.heard.index(asked.answers[0]) + 1 :] + board.listen(0.4))
    if late:
        raise Broken(words.strange_report(spoken(late[0].message), said.late_reports(len(late))))
    return said.QUIET


def watch_then_matrix(board: Session) -> str:
    """SET_WATCH and a watch leave SET_LINES and SET_SCAN as they are; the pairs outlive the scan."""
    pairs = choose(board)
    count = len(roles_both(board))
    configure(board, bytes([LineRole.DRIVEN]) + bytes([LineRole.SENSED] * (count - 1)))
    _watch(board, pairs, pairs.one)
    board.live(0.1)
    command(board, Stop())
    start(board)
    sizes = {len(heard.message.closed) for heard in board.live(0.2) if isinstance(heard.message, State)}
    command(board, Stop())
    if sizes != {-(-count // 8)}:
        raise Broken(said.state_sizes(sorted(sizes), -(-count // 8)))
    start(board, ScanMode.WATCH)
    if not any(isinstance(heard.message, Watched) for heard in board.live(0.2)):
        raise Broken(words.WATCH_STOPPED)
    command(board, Stop())
    return said.SETTINGS_KEPT


def watch_silence(board: Session) -> str:
    """Lines that are held low all the time are let go when the host has gone."""
    pairs = choose(board)
    _watch(board, pairs, pairs.one)
    clock = command(board, Alive()).clock
    ages = [signed(each.message.clock - clock) for each in board.listen(_WAIT_S) if isinstance(each.message, Watched)]
    last_us = max(ages, default=0)
    state = heartbeat(board).state
    resumed = _reports(board.live(0.3))
    command(board, Stop())
    if not _EARLIEST_US <= last_us <= _LATEST_US:
        raise Broken(said.scanned_for(last_us))
    if state != RunState.HOST_SILENT:
        raise Broken(said.run_state(state))
    if resumed:
        raise Broken(words.strange_report(spoken(resumed[0].message), said.late_reports(len(resumed))))
    return said.scanned_for(last_us)


def watch_long(board: Session) -> str:
    """A second of one pair and one of two while the host says ALIVE every 20 ms: enough to judge every watch by."""
    pairs = choose(board)
    watched = openings = 0
    for lines in (pairs.one, pairs.two):
        if not lines:
            continue
        _watch(board, pairs, lines)
        heard = [each.message for each in board.live(1.0, 0.02)]
        now = command(board, Alive()).clock
        command(board, Stop())
        counts = [message for message in heard if isinstance(message, Watched)]
        if not counts or signed(now - counts[-1].clock) > _STOPPED_US:
            raise Broken(words.WATCH_STOPPED)
        watched += len(counts)
        openings += counts[-1].openings_first + counts[-1].openings_second
    return words.watched_so_far(openings, watched, 1.0 * (1 + bool(pairs.two)))


UNCONFIGURED = Rule("watch_unconfigured", watch_unconfigured)
RULES = (
    Rule("watch_set", watch_set),
    Rule("watch_set_refused", watch_set_refused),
    Rule("watch_start", watch_start),
    Rule("watch_running", watch_running),
    Rule("watch_stop_quiet", watch_stop_quiet),
    Rule("watch_then_matrix", watch_then_matrix),
    Rule("watch_silence", watch_silence),
    Rule("watch_long", watch_long),
)
