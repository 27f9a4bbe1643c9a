"""Rules about a host that has gone: the board stops by itself after 2 s, and stays stopped."""

from __future__ import annotations

from tailwise.conformance.expect import command, heartbeat, scan, signed, start
from tailwise.conformance.rule import Broken, Rule
from tailwise.conformance.session import Heard, Session
from tailwise.wire.frames import encode
from tailwise.wire.messages import HOST_SILENCE_MS, STATE_PERIOD_MAX_MS, Alive, RunState, State, Stop, Transitions
from tailwise.words import conformance as words

_LATEST_MS = 200
_WAIT_S = HOST_SILENCE_MS / 1000 + 0.6


def _last_state_after(heard: list[Heard], clock: int) -> int:
    """Microseconds of the board from `clock` to the last STATE or TRANSITIONS."""
    ages = [signed(each.message.clock - clock) for each in heard if isinstance(each.message, State | Transitions)]
    return max(ages, default=0)


def host_silence(board: Session) -> str:
    """Scanning goes on for 2 s after the last command and ends by 2.2 s."""
    scan(board)
    clock = command(board, Alive()).clock
    last_us = _last_state_after(board.listen(_WAIT_S), clock)
    earliest, latest = (HOST_SILENCE_MS - STATE_PERIOD_MAX_MS) * 1000, (HOST_SILENCE_MS + _LATEST_MS) * 1000
    if not earliest <= last_us <= latest:
        raise Broken(words.scanned_for(last_us))
    return words.scanned_for(last_us)


def silence_in_heartbeat(board: Session) -> str:
    """HEARTBEAT goes on and says host_silent; STOP makes it idle."""
    scan(board)
    board.listen(_WAIT_S)
    if (state := heartbeat(board).state) != RunState.HOST_SILENT:
        raise Broken(words.run_state(state))
    command(board, Stop())
    if (after := heartbeat(board).state) != RunState.IDLE:
        raise Broken(words.run_state(after))
    return words.run_state(state)


def silence_needs_start(board: Session) -> str:
    """A command after the silence does not resume scanning; START does, with the settings kept."""
    scan(board)
    board.listen(_WAIT_S)
    reports = [heard for heard in board.live(0.5) if isinstance(heard.message, State | Transitions)]
    if reports:
        raise Broken(words.late_reports(len(reports)))
    start(board)
    if not any(isinstance(heard.message, State) for heard in board.live(0.2)):
        raise Broken(words.SCANNING_STOPPED)
    command(board, Stop())
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
