"""Messages and types by their names in PROTOCOL.md."""

from __future__ import annotations

import re

from tailwise.wire.messages import MESSAGE_TYPES, Identity, Message, Refusal, Refused
from tailwise.words import conformance as words


def type_name(kind: int) -> str:
    """SET_LINES for 2; the number for a type nobody knows."""
    message = MESSAGE_TYPES.get(kind)
    return f"type {kind:02X}" if message is None else re.sub(r"(?<!^)(?=[A-Z])", "_", message.__name__).upper()


def spoken(message: Message | None) -> str:
    """An answer by its name, a refusal with its code."""
    if message is None:
        return words.NOTHING
    if not isinstance(message, Refused):
        return type_name(message.TYPE)
    code = Refusal(message.code).name.lower() if message.code in list(Refusal) else str(message.code)
    return words.refusal(code, message.detail, message.reason)


def who(identity: Identity) -> str:
    """A board in one line."""
    firmware = f"{identity.firmware_major}.{identity.firmware_minor}.{identity.firmware_patch}"
    return words.board_named(identity.board, firmware, identity.line_count)
