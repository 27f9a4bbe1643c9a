"""Rules about everything the board said: frames, numbers, clocks, answers. They read the whole log, after all other rules."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from tailwise.conformance.expect import signed
from tailwise.conformance.rule import Broken, NotApplicable, Rule
from tailwise.conformance.session import Heard, Session
from tailwise.conformance.spoken import spoken, type_name
from tailwise.wire.messages import (
    HEARTBEAT_PERIOD_MS,
    REPLY_TIMEOUT_MS,
    Ack,
    Booted,
    Command,
    Heartbeat,
    Hello,
    Identity,
    LineCheck,
    Refusal,
    Refused,
    Start,
    State,
    Transitions,
    Watched,
)
from tailwise.words import conformance as words

Clocked = Ack | LineCheck | State | Transitions | Heartbeat | Watched
_HEARTBEAT_EARLY_US = (HEARTBEAT_PERIOD_MS - 100) * 1000
_HEARTBEAT_LATE_US = (HEARTBEAT_PERIOD_MS + 100) * 1000
_LAG_US = 100_000
_PRIVATE = range(0xF0, 0xFF)
_RESERVED = (range(0xA0, 0xA8), range(0xA8, 0xB0), range(0xB0, 0xB8))


def _since_identity(board: Session) -> list[Heard]:
    return board.heard[board.identified_at :]


def _stretches(board: Session) -> Iterator[list[Heard]]:
    """The log since IDENTITY, cut where a number is missing or the board restarted."""
    stretch: list[Heard] = []
    for heard in _since_identity(board):
        if stretch and (heard.frame.number - stretch[-1].frame.number) % 65536 != 1:
            yield stretch
            stretch = []
        stretch.append(heard)
    if stretch:
        yield stretch


def frames_good(board: Session) -> str:
    """No bad frame after the first IDENTITY: noise from a boot loader comes before it."""
    first = board.heard[board.identified_at].at_us
    count = sum(at >= first for at in board.bad_at)
    if count:
        raise Broken(words.bad_frames(count, str(board.bad[-1])))
    return words.frames_seen(len(board.heard))


def numbers_without_holes(board: Session) -> str:
    """Each number is the one before plus 1, over the wrap."""
    log = _since_identity(board)
    for before, after in pairwise(log):
        if isinstance(after.message, Booted):
            continue
        if (after.frame.number - before.frame.number) % 65536 != 1:
            raise Broken(words.number_jump(before.frame.number, after.frame.number))
    return words.frames_seen(len(log))


def messages_known(board: Session) -> str:
    """Types of protocol 1, of announced capabilities, or private; sent by boards; payloads fit."""
    allowed = {kind for bit, kinds in enumerate(_RESERVED, 1) if board.identity.capabilities >> bit & 1 for kind in kinds}
    for heard in _since_identity(board):
        kind = heard.frame.type
        if not heard.fits:
            raise Broken(words.payload_unfit(kind, heard.frame.payload.hex()))
        optional = any(kind in kinds for kinds in _RESERVED)
        known = kind in allowed if optional else heard.message is not None or kind in _PRIVATE
        if isinstance(heard.message, Command) or not known:
            raise Broken(words.type_unknown(kind))
    return words.frames_seen(len(board.heard))


def one_answer(board: Session) -> str:
    """Every good command got exactly one answer of its own type, and no answer came to nothing."""
    for asked in board.asked[board.hellos :]:
        if asked.excused and not asked.answers:
            continue
        if len(asked.answers) != 1:
            raise Broken(words.answers_to(type_name(asked.type), asked.number, len(asked.answers)))
        answer = asked.answers[0].message
        right = isinstance(answer, Identity) and asked.type == Hello.TYPE
        if not right and not (isinstance(answer, Ack | Refused) and answer.command_type == asked.type):
            raise Broken(words.wanted_ack(type_name(asked.type), spoken(answer)))
    if board.stray:
        raise Broken(words.stray_answer(spoken(board.stray[0].message)))
    return words.answered(len(board.asked))


def answers_in_time(board: Session) -> str:
    """From the command's last byte to the answer, by the host's clock."""
    took = [asked.answers[0].at_us - asked.at_us for asked in board.asked[board.hellos :] if asked.answers]
    longest = max(took, default=0)
    if longest > REPLY_TIMEOUT_MS * 1000:
        raise Broken(words.slowest(longest))
    return words.slowest(longest)


def refusals_known(board: Session) -> str:
    """Codes of the table, and reasons short enough to show."""
    for heard in board.heard:
        if isinstance(heard.message, Refused):
            if heard.message.code not in list(Refusal):
                raise Broken(words.field_is("code", heard.message.code))
            if len(heard.message.reason) > 60:
                raise Broken(words.field_is("reason", heard.message.reason))
    return words.frames_seen(sum(isinstance(heard.message, Refused) for heard in board.heard))


def clock_never_back(board: Session) -> str:
    """Clocks of one type never go back; those of different types lie within 100 ms of each other as they come."""
    for stretch in _stretches(board):
        last: dict[type[object], int] = {}
        newest: int | None = None
        for heard in stretch:
            if isinstance(heard.message, Booted):
                last, newest = {}, None
            if not isinstance(heard.message, Clocked):
                continue
            clock, kind = heard.message.clock, type(heard.message)
            if signed(clock - last.get(kind, clock)) < 0:
                raise Broken(words.clock_back(kind.__name__, last[kind], clock))
            if newest is not None and signed(clock - newest) < -_LAG_US:
                raise Broken(words.clock_back(kind.__name__, newest, clock))
            last[kind] = clock
            if newest is None or signed(clock - newest) > 0:
                newest = clock
    return words.CLOCK_FORWARD


def clock_rate(board: Session) -> str:
    """One count a microsecond, to 2 %, against the host's clock over at least 5 s."""
    beats = [heard for stretch in _stretches(board) for heard in stretch if isinstance(heard.message, Heartbeat)]
    counted = 0
    for before, after in pairwise(beats):
        assert isinstance(before.message, Heartbeat) and isinstance(after.message, Heartbeat)
        counted += signed(after.message.clock - before.message.clock)
    real_us = beats[-1].at_us - beats[0].at_us if beats else 0
    if real_us < 5_000_000:
        raise NotApplicable(words.TOO_SHORT)
    if not 0.98 <= counted / real_us <= 1.02:
        raise Broken(words.clock_ratio(counted / real_us))
    return words.clock_ratio(counted / real_us)


def heartbeat_period(board: Session) -> str:
    """Every 500 ms, by the board's clock, to 100 ms."""
    seen = 0
    for stretch in _stretches(board):
        last: int | None = None
        for heard in stretch:
            if isinstance(heard.message, Booted):
                last = None
            if not isinstance(heard.message, Heartbeat | Ack):
                continue
            apart = 0 if last is None else signed(heard.message.clock - last)
            late = apart > _HEARTBEAT_LATE_US
            if isinstance(heard.message, Heartbeat):
                if late or (last is not None and apart < _HEARTBEAT_EARLY_US):
                    raise Broken(words.heartbeats_apart(apart))
                last = heard.message.clock
                seen += 1
            elif late:
                raise Broken(words.heartbeats_apart(apart))
    if not seen:
        raise Broken(words.NO_HEARTBEAT)
    return words.frames_seen(seen)


def booted_first(board: Session) -> str:
    """BOOTED is numbered 0, and before the first HELLO's answer nothing else comes unasked."""
    booted = [at for at, heard in enumerate(board.heard) if isinstance(heard.message, Booted)]
    if not booted:
        raise NotApplicable(words.NO_RESET_SEEN)
    if board.heard[booted[0]].frame.number != 0:
        raise Broken(words.field_is("number", board.heard[booted[0]].frame.number))
    for heard in board.heard[booted[0] + 1 : board.identified_at]:
        if not isinstance(heard.message, Ack | Refused | Booted):
            raise Broken(words.unasked(heard.frame.type))
    return words.field_is("number", 0)


def no_restart(board: Session) -> str:
    """The board does not restart while it is tried."""
    count = sum(isinstance(heard.message, Booted) for heard in _since_identity(board))
    if count:
        raise Broken(words.restarts(count))
    return words.restarts(0)


def check_before_drive_only(board: Session) -> str:
    """LINE_CHECK comes right before START's ACK or its refusal with held_line, never else."""
    for stretch in _stretches(board):
        pending = False
        for heard in stretch:
            message = heard.message
            if isinstance(message, LineCheck):
                if pending:
                    raise Broken(words.LONE_LINE_CHECK)
                pending = True
            elif pending and isinstance(message, Ack | Refused | Identity):
                held = isinstance(message, Refused) and message.code == Refusal.HELD_LINE
                if (
                    isinstance(message, Identity)
                    or message.command_type != Start.TYPE
                    or not (held or isinstance(message, Ack))
                ):
                    raise Broken(words.LONE_LINE_CHECK)
                pending = False
    return words.line_checks(sum(isinstance(heard.message, LineCheck) for heard in board.heard))


RULES = (
    Rule("frames_good", frames_good),
    Rule("numbers_without_holes", numbers_without_holes),
    Rule("messages_known", messages_known),
    Rule("one_answer", one_answer),
    Rule("answers_in_time", answers_in_time),
    Rule("refusals_known", refusals_known),
    Rule("clock_never_back", clock_never_back),
    Rule("clock_rate", clock_rate),
    Rule("heartbeat_period", heartbeat_period),
    Rule("booted_first", booted_first),
    Rule("no_restart", no_restart),
    Rule("check_before_drive_only", check_before_drive_only),
)
