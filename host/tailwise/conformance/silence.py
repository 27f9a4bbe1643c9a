"""Rules about a host that has gone: the board stops by itself after 2 s, and stays stopped."""

from __future__ import annotations

from dataclasses import dataclass

from tailwise.conformance.expect import command, heartbeat, scan, signed
from tailwise.conformance.rule import Broken, Rule
from tailwise.conformance.session import Heard, Session
from tailwise.wire.frames import encode
from tailwise.wire.messages import (
    HOST_SILENCE_MS,
    STATE_PERIOD_MAX_MS,
    Ack,
    Alive,
    RunState,
    ScanMode,
    Start,
    State,
    Stop,
    Transitions,
)
from tailwise.words import conformance as words

_LATEST_MS = 200
_WAIT_S = HOST_SILENCE_MS / 1000 + 0.6


def _last_state_after(heard: list[Heard], clock: int) -> int:
    """Microseconds of the board from `clock` to the last STATE or TRANSITIONS."""
    ages = [signed(each.message.clock - clock) for each in heard if isinstance(each.message, State | Transitions)]
    return max(ages, default=0)


@dataclass(frozen=True, slots=True)
class Silence:
    """One silence, tried once and read by several rules. Times are microseconds of the board."""

    last_us: int
    state: int
    resumed: int
    restarted: bool
    state_after: int


def _silence(board: Session) -> Silence:
    """Scan, say nothing for 2.6 s, say ALIVE, START again, STOP."""
    if not isinstance(board.silence, Silence):
        scan(board)
        clock = command(board, Alive()).clock
        last_us = _last_state_after(board.listen(_WAIT_S), clock)
        state = heartbeat(board).state
        resumed = sum(isinstance(heard.message, State | Transitions) for heard in board.live(0.5))
        again = board.ask(Start(ScanMode.MATRIX))
        states = [heard for heard in board.live(0.2) if isinstance(heard.message, State)]
        command(board, Stop())
        restarted = isinstance(again.answer, Ack) and bool(states)
        board.silence = Silence(last_us, state, resumed, restarted, heartbeat(board).state)
    return board.silence


def host_silence(board: Session) -> str:
    """Scanning goes on for 2 s after the last command and ends by 2.2 s."""
    last_us = _silence(board).last_us
    earliest, latest = (HOST_SILENCE_MS - STATE_PERIOD_MAX_MS) * 1000, (HOST_SILENCE_MS + _LATEST_MS) * 1000
    if not earliest <= last_us <= latest:
        raise Broken(words.scanned_for(last_us))
    return words.scanned_for(last_us)


def silence_in_heartbeat(board: Session) -> str:
    """HEARTBEAT goes on and says host_silent; START and STOP make it idle."""
    seen = _silence(board)
    for state, wanted in ((seen.state, RunState.HOST_SILENT), (seen.state_after, RunState.IDLE)):
        if state != wanted:
            raise Broken(words.run_state(state))
    return words.run_state(seen.state)


def silence_needs_start(board: Session) -> str:
    """A command after the silence does not resume scanning; START does, with the settings kept."""
    seen = _silence(board)
    if seen.resumed:
        raise Broken(words.late_reports(seen.resumed))
    if not seen.restarted:
        raise Broken(words.SCANNING_STOPPED)
    return words.SETTINGS_KEPT


def noise_is_silence(board: Session) -> str:
    """Bad frames are no sign of life."""
    scan(board)
    clock = command(board, Alive()).clock
    bad = bytearray(encode(Alive(), 0x1234))
    bad[-2] ^= 0x40
    heard: list[Heard] = []
    for _ in range(round(_WAIT_S * 10)):
        board.raw(bytes(bad))
        heard += board.listen(0.1)
    last_us = _last_state_after(heard, clock)
    if last_us > (HOST_SILENCE_MS + _LATEST_MS) * 1000:
        raise Broken(words.scanned_for(last_us))
    return words.scanned_for(last_us)


def idle_silence(board: Session) -> str:
    """A board that does not scan has nothing to stop: HEARTBEAT goes on and says idle."""
    board.listen(_WAIT_S)
    if (state := heartbeat(board).state) != RunState.IDLE:
        raise Broken(words.run_state(state))
    return words.run_state(state)


RULES = (
    Rule("host_silence", host_silence),
    Rule("silence_in_heartbeat", silence_in_heartbeat),
    Rule("silence_needs_start", silence_needs_start),
    Rule("noise_is_silence", noise_is_silence),
    Rule("idle_silence", idle_silence),
)
