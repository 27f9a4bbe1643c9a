"""What most rules need: an ACK, a certain refusal, a running board, the next HEARTBEAT."""

from __future__ import annotations

from tailwise.conformance.rule import Broken, NotApplicable
from tailwise.conformance.session import Asked, Session
from tailwise.conformance.spoken import spoken, type_name
from tailwise.wire.messages import MAX_LINES, Ack, Alive, Command, Heartbeat, LineRole, Refusal, Refused, ScanMode, Start
from tailwise.words import conformance as words

_HEARTBEAT_WAIT_S = 0.7


def signed(difference: int) -> int:
    """A difference of two clocks or of two sums of clocks, over the wrap."""
    return (difference + 0x8000_0000) % 0x1_0000_0000 - 0x8000_0000


def want_ack(asked: Asked) -> Ack:
    """The ACK; Broken where something else or nothing came."""
    if not isinstance(asked.answer, Ack):
        raise Broken(words.wanted_ack(type_name(asked.type), spoken(asked.answer)))
    return asked.answer


def want_refusal(asked: Asked, *codes: Refusal) -> Refused:
    """A refusal with one of these codes; Broken where something else or nothing came."""
    if not isinstance(asked.answer, Refused) or asked.answer.code not in codes:
        raise Broken(words.wanted_refusal(type_name(asked.type), [code.name.lower() for code in codes], spoken(asked.answer)))
    return asked.answer


def command(board: Session, message: Command) -> Ack:
    """Send a command that must be acknowledged."""
    return want_ack(board.ask(message))


def still_alive(board: Session) -> None:
    """The board goes on after what was done to it: the next command but one works at the latest."""
    first = board.ask(Alive())
    if not first.answers:
        first.excused = True
        want_ack(board.ask(Alive()))


def roles_both(board: Session) -> bytes:
    """Every line in both roles; NotApplicable where the number of lines makes no sense."""
    if not 2 <= board.identity.line_count <= MAX_LINES:
        raise NotApplicable(words.field_is("line_count", board.identity.line_count))
    return bytes([LineRole.BOTH] * board.identity.line_count)


def configure(board: Session, roles: bytes, period_us: int = 0, settle_ns: int = 0) -> None:
    """SET_LINES and SET_SCAN, both acknowledged."""
    for asked in board.configure(roles, period_us, settle_ns):
        want_ack(asked)


def start(board: Session, mode: ScanMode = ScanMode.MATRIX) -> Ack:
    """START; NotApplicable where a line is held from outside."""
    asked = board.ask(Start(mode))
    if isinstance(asked.answer, Refused) and asked.answer.code == Refusal.HELD_LINE:
        raise NotApplicable(words.line_is_held(asked.answer.detail))
    return want_ack(asked)


def scan(board: Session, roles: bytes | None = None, period_us: int = 0, settle_ns: int = 0) -> Ack:
    """Configure (every line in both roles unless told otherwise) and start."""
    configure(board, roles_both(board) if roles is None else roles, period_us, settle_ns)
    return start(board)


def heartbeat(board: Session) -> Heartbeat:
    """The next HEARTBEAT; Broken where none comes."""
    message = board.wait_for(Heartbeat, _HEARTBEAT_WAIT_S)
    if not isinstance(message, Heartbeat):
        raise Broken(words.NO_HEARTBEAT)
    return message
