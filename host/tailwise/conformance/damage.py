"""Rules about bytes that are no good frame: counted, never answered, never a hang."""

from __future__ import annotations

from collections.abc import Callable

from tailwise.conformance.expect import command, heartbeat, scan, still_alive, want_ack, want_refusal
from tailwise.conformance.rule import Broken, NotApplicable, Rule
from tailwise.conformance.session import Answer, Session
from tailwise.conformance.spoken import spoken
from tailwise.wire.frames import cobs_encode, crc16, encode, encode_frame
from tailwise.wire.messages import (
    CRC_BYTES,
    HEADER_BYTES,
    MAX_DECODED_BYTES,
    MIN_COMMAND_BYTES,
    Alive,
    Heartbeat,
    Refusal,
    State,
    Stop,
)
from tailwise.words import conformance as words

_AROUND = HEADER_BYTES + CRC_BYTES
_FREE_TYPE = 0x1F
_QUIET_S = 0.3
_READING_US = 100_000


def _bad_frames(board: Session) -> int:
    """The count before more damage: of the last HEARTBEAT since the damage before, else of the next."""
    for heard in reversed(board.heard[board.damaged_at :]):
        if isinstance(heard.message, Heartbeat) and heard.at_us > board.damaged_us + _READING_US:
            return heard.message.bad_frames
    return heartbeat(board).bad_frames


def _damaged(board: Session, data: bytes, count: int) -> str:
    """Send damage in one piece while idle: no answer, `count` more bad frames, and the next command works."""
    before = _bad_frames(board)
    board.raw(b"\0")
    board.raw(data)
    answers = [heard for heard in board.listen(_QUIET_S) if isinstance(heard.message, Answer)]
    if answers:
        raise Broken(words.damage_answered(spoken(answers[0].message)))
    want_ack(board.ask(Alive()))
    after = heartbeat(board).bad_frames
    if after - before != count and before < 65535:
        raise Broken(words.counted(before, after, count))
    return words.counted(before, after, count)


def _alive_with(change: Callable[[bytes], bytes], *, renew: bool) -> bytes:
    """A decoded ALIVE, changed; renew: with the CRC to match."""
    body = change(bytes([_AROUND, Alive.TYPE, 0x34, 0x12]))
    crc = crc16(body if renew else bytes([_AROUND, Alive.TYPE, 0x34, 0x12]))
    return cobs_encode(body + crc.to_bytes(CRC_BYTES, "little")) + b"\0"


def bad_crc(board: Session) -> str:
    """A STOP and an ALIVE with one bit of the number turned over."""
    changed = _alive_with(lambda body: body[:2] + bytes([body[2] ^ 1]) + body[3:], renew=False)
    return _damaged(board, changed * 3, 3)


def bad_length(board: Session) -> str:
    """The length byte one too small and one too large, under a right CRC."""
    less = _alive_with(lambda body: bytes([body[0] - 1]) + body[1:], renew=True)
    more = _alive_with(lambda body: bytes([body[0] + 1]) + body[1:], renew=True)
    return _damaged(board, less + more, 2)


def short_frames(board: Session) -> str:
    """Frames of one to five bytes, one with length and CRC right."""
    five = bytes([5, Alive.TYPE, 1])
    frames = [cobs_encode(five + crc16(five).to_bytes(CRC_BYTES, "little")), b"\x01", b"\x02\x11", b"\x03\x11\x22"]
    return _damaged(board, b"\0".join(frames) + b"\0", len(frames))


def oversize(board: Session) -> str:
    """1000 bytes without a 00 are one bad frame."""
    return _damaged(board, b"\x11" * 1000 + b"\0", 1)


def half_frames(board: Session) -> str:
    """First and second halves of a frame, each ended by a 00."""
    wire = encode(Alive(), 0x1234)
    return _damaged(board, wire[:3] + b"\0" + wire[4:], 2)


def half_then_whole(board: Session) -> str:
    """Half a frame without its 00 costs the next frame at the most."""
    board.raw(encode(Alive(), 0x1234)[:3])
    board.listen(0.1)
    still_alive(board)
    return words.WENT_ON


def garbage(board: Session) -> str:
    """A kilobyte of bytes of all values, as of a wrong baud rate, while idle and while scanning."""
    noise = bytes((17 * at * at + 101 * at + 7) % 256 for at in range(1024))
    board.raw(noise)
    board.listen(0.1)
    still_alive(board)
    scan(board)
    for first in range(0, 1024, 64):
        board.raw(noise[first : first + 64])
        board.listen(0.01)
    still_alive(board)
    states = [heard for heard in board.live(0.2) if isinstance(heard.message, State)]
    command(board, Stop())
    if not states:
        raise Broken(words.SCANNING_STOPPED)
    return words.WENT_ON


def zeros(board: Session) -> str:
    """A row of 00 is silence."""
    return _damaged(board, bytes(50), 0)


def longest_command(board: Session) -> str:
    """A command of exactly max_command_bytes is taken; one byte more, where frames may be that long, is a bad frame."""
    longest = board.identity.max_command_bytes
    if not MIN_COMMAND_BYTES <= longest <= MAX_DECODED_BYTES:
        raise NotApplicable(words.field_is("max_command_bytes", longest))
    want_refusal(board.ask_frame(_FREE_TYPE, b"\x55" * (longest - _AROUND)), Refusal.UNKNOWN_MESSAGE)
    want_refusal(board.ask_frame(_FREE_TYPE, bytes(longest - _AROUND)), Refusal.UNKNOWN_MESSAGE)
    if longest < MAX_DECODED_BYTES:
        _damaged(board, encode_frame(_FREE_TYPE, 1, b"\x55" * (longest + 1 - _AROUND)), 1)
    return words.longest_taken(longest)


RULES = (
    Rule("bad_crc", bad_crc),
    Rule("bad_length", bad_length),
    Rule("short_frames", short_frames),
    Rule("oversize", oversize),
    Rule("half_frames", half_frames),
    Rule("half_then_whole", half_then_whole),
    Rule("garbage", garbage),
    Rule("zeros", zeros),
    Rule("longest_command", longest_command),
)
