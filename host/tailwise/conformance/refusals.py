"""Rules about commands: which are carried out, which are refused and why, and that a refusal changes nothing."""

from __future__ import annotations

from tailwise.conformance.expect import command, configure, roles_both, scan, start, want_ack, want_refusal
from tailwise.conformance.rule import Broken, NotApplicable, Rule
from tailwise.conformance.session import Session
from tailwise.conformance.spoken import spoken, type_name
from tailwise.wire.messages import (
    SCAN_PERIOD_MAX_US,
    Ack,
    Alive,
    Booted,
    Capability,
    Hello,
    LineRole,
    Refusal,
    ScanMode,
    SetLines,
    SetScan,
    Start,
    State,
    Stop,
)
from tailwise.words import conformance as words

_U32_MAX = 0xFFFF_FFFF
_FREE_TYPES = (0x00, 0x1F, 0x7F, 0x81, 0xFF)


def start_unconfigured(board: Session) -> str:
    """START as the first command after a reset; it must be tried before any rule configures the board."""
    if not any(isinstance(heard.message, Booted) for heard in board.heard):
        raise NotApplicable(words.NO_RESET_SEEN)
    want_refusal(board.ask(Start(ScanMode.MATRIX)), Refusal.NOT_CONFIGURED)
    return words.refused_with(Refusal.NOT_CONFIGURED.name.lower())


def start_without_lines(board: Session) -> str:
    """START with nothing to drive, and with nothing else to sense."""
    for roles in (b"", bytes([LineRole.DRIVEN]), bytes([LineRole.BOTH]), bytes([LineRole.UNUSED, LineRole.SENSED])):
        configure(board, roles)
        want_refusal(board.ask(Start(ScanMode.MATRIX)), Refusal.NOT_CONFIGURED)
    return words.refused_with(Refusal.NOT_CONFIGURED.name.lower())


def idle_commands(board: Session) -> str:
    """STOP and ALIVE while idle."""
    command(board, Stop())
    command(board, Alive())
    return words.ACKNOWLEDGED


def numbers_echoed(board: Session) -> str:
    """Commands with any numbers, also one again."""
    for number in (65535, 0, 40000, 40000, 3):
        answer = want_ack(board.ask(Alive(), number))
        if answer.command_type != Alive.TYPE:
            raise Broken(words.wanted_ack(type_name(Alive.TYPE), spoken(answer)))
    return words.ACKNOWLEDGED


def unknown_message(board: Session) -> str:
    """Types nobody assigned, and types only boards send."""
    for kind in _FREE_TYPES:
        want_refusal(board.ask_frame(kind, b""), Refusal.UNKNOWN_MESSAGE)
        want_refusal(board.ask_frame(kind, b"\x01\x02\x03"), Refusal.UNKNOWN_MESSAGE)
    return words.refused_with(Refusal.UNKNOWN_MESSAGE.name.lower())


def unannounced_capability(board: Session) -> str:
    """Reserved messages of capabilities that the board does not announce, and START in a mode that needs one."""
    tried = 0
    if not board.identity.capabilities & Capability.WATCH_LINE:
        configure(board, roles_both(board))
        want_refusal(board.ask(Start(ScanMode.WATCH)), Refusal.UNSUPPORTED, Refusal.BAD_PAYLOAD)
    for capability, kind in ((Capability.WATCH_LINE, 0x20), (Capability.MEASURE_LEVEL, 0x28), (Capability.MEASURE_RISE, 0x30)):
        if not board.identity.capabilities & capability:
            tried += 1
            want_refusal(board.ask_frame(kind, b""), Refusal.UNKNOWN_MESSAGE, Refusal.UNSUPPORTED)
    if not tried:
        raise NotApplicable(words.HAS_ALL_CAPABILITIES)
    return words.refused_with(f"{Refusal.UNKNOWN_MESSAGE.name.lower()}, {Refusal.UNSUPPORTED.name.lower()}")


def bad_payload(board: Session) -> str:
    """Payloads too short, too long, and with a count that lies."""
    for kind, payload in (
        (Hello.TYPE, b"\x01"),
        (Hello.TYPE, b"\x01\x01\x01"),
        (SetLines.TYPE, b""),
        (SetLines.TYPE, b"\x03\x03\x03"),
        (SetLines.TYPE, b"\xff\x03\x03"),
        (SetLines.TYPE, b"\x01\x03\x03"),
        (SetScan.TYPE, bytes(7)),
        (SetScan.TYPE, bytes(9)),
        (Start.TYPE, b""),
        (Start.TYPE, b"\0\0"),
        (Stop.TYPE, b"\0"),
        (Alive.TYPE, b"\0"),
    ):
        want_refusal(board.ask_frame(kind, payload), Refusal.BAD_PAYLOAD)
    return words.refused_with(Refusal.BAD_PAYLOAD.name.lower())


def values_out_of_range(board: Session) -> str:
    """Period and settle time too long, a mode nobody knows."""
    configure(board, roles_both(board))
    want_refusal(board.ask(SetScan(SCAN_PERIOD_MAX_US + 1, 0)), Refusal.BAD_PAYLOAD)
    want_refusal(board.ask(SetScan(_U32_MAX, 0)), Refusal.BAD_PAYLOAD)
    if board.identity.settle_max_ns < _U32_MAX:
        want_refusal(board.ask(SetScan(0, board.identity.settle_max_ns + 1)), Refusal.BAD_PAYLOAD)
    want_refusal(board.ask(Start(200)), Refusal.BAD_PAYLOAD)
    command(board, SetScan(SCAN_PERIOD_MAX_US, board.identity.settle_max_ns))
    return words.refused_with(Refusal.BAD_PAYLOAD.name.lower())


def bad_line(board: Session) -> str:
    """A line too many, a role too many; `detail` names the line."""
    count = len(roles_both(board))
    cases = [(bytes([LineRole.SENSED, 4]), 1)]
    if count + 1 <= board.identity.max_command_bytes - 7:
        cases.append((bytes([LineRole.BOTH] * (count + 1)), count))
    for roles, line in cases:
        answer = want_refusal(board.ask(SetLines(roles)), Refusal.BAD_LINE)
        if answer.detail != line:
            raise Broken(words.field_is("detail", answer.detail))
    return words.refused_with(Refusal.BAD_LINE.name.lower())


def refusal_changes_nothing(board: Session) -> str:
    """Settings survive refused SET_LINES and SET_SCAN."""
    count = len(roles_both(board))
    configure(board, bytes([LineRole.DRIVEN]) + bytes([LineRole.SENSED] * (count - 1)))
    want_refusal(board.ask(SetLines(bytes([LineRole.BOTH, LineRole.BOTH, 9]))), Refusal.BAD_LINE)
    want_refusal(board.ask_frame(SetLines.TYPE, b"\x02\x03"), Refusal.BAD_PAYLOAD)
    want_refusal(board.ask(SetScan(_U32_MAX, 0)), Refusal.BAD_PAYLOAD)
    start(board)
    sizes = {len(heard.message.closed) for heard in board.live(0.2) if isinstance(heard.message, State)}
    command(board, Stop())
    if sizes != {-(-count // 8)}:
        raise Broken(words.state_sizes(sorted(sizes), -(-count // 8)))
    return words.SETTINGS_KEPT


def running_refused(board: Session) -> str:
    """SET_LINES, SET_SCAN and START while scanning, and scanning goes on."""
    scan(board)
    board.live(0.1)
    for message in (SetLines(b"\x03\x03"), SetScan(1000, 0), Start(ScanMode.MATRIX)):
        want_refusal(board.ask(message), Refusal.RUNNING)
    size = board.identity.line_count * -(-board.identity.line_count // 8)
    sizes = {len(heard.message.closed) for heard in board.live(0.2) if isinstance(heard.message, State)}
    command(board, Stop())
    if sizes != {size}:
        raise Broken(words.state_sizes(sorted(sizes), size))
    return words.REFUSED_AND_WENT_ON


def hello_while_scanning(board: Session) -> str:
    """HELLO while scanning is answered and disturbs nothing."""
    scan(board)
    board.live(0.1)
    asked = board.ask(Hello(1, 1))
    states = [heard for heard in board.live(0.2) if isinstance(heard.message, State)]
    command(board, Stop())
    if asked.answer is None or isinstance(asked.answer, Ack):
        raise Broken(words.wanted_identity(spoken(asked.answer)))
    if not states:
        raise Broken(words.SCANNING_STOPPED)
    return words.ANSWERED_AND_WENT_ON


RULES = (
    Rule("start_unconfigured", start_unconfigured),
    Rule("start_without_lines", start_without_lines),
    Rule("idle_commands", idle_commands),
    Rule("numbers_echoed", numbers_echoed),
    Rule("unknown_message", unknown_message),
    Rule("unannounced_capability", unannounced_capability),
    Rule("bad_payload", bad_payload),
    Rule("values_out_of_range", values_out_of_range),
    Rule("bad_line", bad_line),
    Rule("refusal_changes_nothing", refusal_changes_nothing),
    Rule("running_refused", running_refused),
    Rule("hello_while_scanning", hello_while_scanning),
)
