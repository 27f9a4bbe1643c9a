"""What the virtual board says of itself; the default has the lines and the checked lines of the reference board."""

from __future__ import annotations

from dataclasses import dataclass, replace

from tailwise.wire.messages import PROTOCOL, Capability, Identity


@dataclass(frozen=True, slots=True)
class BoardKind:
    """What the board says of itself, and where its clock stands when it boots."""

    name: str = "tailwise practice board"
    line_count: int = 24
    checked: int = 16
    settle_default_ns: int = 8_000
    settle_max_ns: int = 200_000
    max_command_bytes: int = 64
    clock_start: int = 0
    unique_id: bytes = b"practice"

    def identity(self, command: int) -> Identity:
        """IDENTITY in answer to the HELLO of that number."""
        checked = (1 << min(self.checked, self.line_count)) - 1
        return Identity(
            command=command,
            protocol_min=PROTOCOL,
            protocol_max=PROTOCOL,
            firmware_major=1,
            firmware_minor=0,
            firmware_patch=0,
            line_count=self.line_count,
            capabilities=Capability.LINE_CHECK | Capability.WATCH_LINE,
            clock_tick_ns=1000,
            settle_default_ns=self.settle_default_ns,
            settle_max_ns=self.settle_max_ns,
            queue_transitions=256,
            max_command_bytes=self.max_command_bytes,
            checked_lines=checked.to_bytes(-(-self.line_count // 8), "little"),
            unique_id=self.unique_id,
            board=self.name,
        )


PRACTICE_BOARD = BoardKind()


def board_for(line_count: int) -> BoardKind:
    """The practice board, or one with as many lines as a larger keyboard needs."""
    return replace(PRACTICE_BOARD, line_count=max(PRACTICE_BOARD.line_count, line_count))
