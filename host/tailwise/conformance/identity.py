"""Rules about IDENTITY and HELLO."""

from __future__ import annotations

from dataclasses import replace

from tailwise.conformance.expect import want_ack, want_refusal
from tailwise.conformance.rule import Broken, Rule
from tailwise.conformance.session import Session
from tailwise.conformance.spoken import spoken, who
from tailwise.wire.messages import (
    BOARD_NAME_MAX_BYTES,
    MAX_DECODED_BYTES,
    MAX_LINES,
    MIN_COMMAND_BYTES,
    PROTOCOL,
    UNIQUE_ID_MAX_BYTES,
    Alive,
    Capability,
    Hello,
    Identity,
    Refusal,
)
from tailwise.words import conformance as words


def hello_answered(board: Session) -> str:
    """A fresh HELLO gets an IDENTITY that names it."""
    asked = board.ask(Hello(PROTOCOL, PROTOCOL))
    if not isinstance(asked.answer, Identity):
        raise Broken(words.wanted_identity(spoken(asked.answer)))
    return who(asked.answer)


def hello_again(board: Session) -> str:
    """Another HELLO gets the same IDENTITY."""
    asked = board.ask(Hello(0, 255))
    if not isinstance(asked.answer, Identity):
        raise Broken(words.wanted_identity(spoken(asked.answer)))
    first, second = replace(board.identity, command=0), replace(asked.answer, command=0)
    if first != second:
        raise Broken(words.differs(str(first), str(second)))
    return words.SAME_IDENTITY


def hello_no_protocol(board: Session) -> str:
    """A host of the future is refused, and the board goes on."""
    want_refusal(board.ask(Hello(254, 255)), Refusal.NO_PROTOCOL)
    want_ack(board.ask(Alive()))
    return words.REFUSED_AND_WENT_ON


def _field(name: str, value: object, good: bool) -> str:
    if not good:
        raise Broken(words.field_is(name, value))
    return words.field_is(name, value)


def identity_version(board: Session) -> str:
    """The range of protocols holds this one."""
    oldest, newest = board.identity.protocol_min, board.identity.protocol_max
    return _field("protocol_min, protocol_max", (oldest, newest), oldest <= PROTOCOL <= newest)


def identity_lines(board: Session) -> str:
    """The number of lines."""
    count = board.identity.line_count
    return _field("line_count", count, 2 <= count <= MAX_LINES)


def identity_clock_tick(board: Session) -> str:
    """One count a microsecond."""
    tick = board.identity.clock_tick_ns
    return _field("clock_tick_ns", tick, tick == 1000)


def identity_settle(board: Session) -> str:
    """The default settle time is one the board can do."""
    usual, longest = board.identity.settle_default_ns, board.identity.settle_max_ns
    return _field("settle_default_ns, settle_max_ns", (usual, longest), 0 < usual <= longest)


def identity_command_bytes(board: Session) -> str:
    """The longest command."""
    size = board.identity.max_command_bytes
    return _field("max_command_bytes", size, MIN_COMMAND_BYTES <= size <= MAX_DECODED_BYTES)


def identity_checked_lines(board: Session) -> str:
    """The bitmap of lines that LINE_CHECK can check."""
    identity = board.identity
    bits = int.from_bytes(identity.checked_lines, "little")
    can_check = bool(identity.capabilities & Capability.LINE_CHECK)
    good = len(identity.checked_lines) <= -(-identity.line_count // 8) and bits >> identity.line_count == 0
    return _field("checked_lines", f"{identity.checked_lines.hex()}, line_check {can_check}", good and can_check == bool(bits))


def identity_names(board: Session) -> str:
    """Name and serial number."""
    name, unique = board.identity.board, board.identity.unique_id
    good = 1 <= len(name) <= BOARD_NAME_MAX_BYTES and name.isprintable() and len(unique) <= UNIQUE_ID_MAX_BYTES
    return _field("board, unique_id", (name, unique.hex()), good)


RULES = (
    Rule("hello_answered", hello_answered),
    Rule("hello_again", hello_again),
    Rule("hello_no_protocol", hello_no_protocol),
    Rule("identity_version", identity_version),
    Rule("identity_lines", identity_lines),
    Rule("identity_clock_tick", identity_clock_tick),
    Rule("identity_settle", identity_settle),
    Rule("identity_command_bytes", identity_command_bytes),
    Rule("identity_checked_lines", identity_checked_lines),
    Rule("identity_names", identity_names),
)
