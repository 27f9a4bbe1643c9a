"""Reading and writing the payload of one message: little-endian integers and counted fields."""

from __future__ import annotations

from dataclasses import dataclass


class PayloadError(ValueError):
    """A payload that does not fit its message; the text names the offset and the broken rule."""


@dataclass(frozen=True, slots=True)
class Transition:
    """One reading that changed.

    delta: clock ticks since the clock of its message; driven, sensed: line numbers of the board;
    closed: the new reading.
    """

    delta: int
    driven: int
    sensed: int
    closed: bool


@dataclass(frozen=True, slots=True)
class Opening:
    """One opening of a watched pair (0 or 1): start on the board's clock and length, both in clock ticks."""

    pair: int
    start: int
    length: int


class PayloadWriter:
    """Collects fields in order; PayloadError where a value does not fit its field."""

    def __init__(self) -> None:
        self._out = bytearray()

    def _integer(self, value: int, size: int) -> None:
        if not 0 <= value < 1 << (8 * size):
            raise PayloadError(f"{value} does not fit in {size} byte(s)")
        self._out += value.to_bytes(size, "little")

    def u8(self, value: int) -> None:
        """0 to 255."""
        self._integer(value, 1)

    def u16(self, value: int) -> None:
        """0 to 65535, low byte first."""
        self._integer(value, 2)

    def u32(self, value: int) -> None:
        """0 to 2**32 - 1, low byte first."""
        self._integer(value, 4)

    def bytes_u8(self, value: bytes) -> None:
        """A count and that many bytes."""
        self._integer(len(value), 1)
        self._out += value

    def text_u8(self, value: str) -> None:
        """A count and that many ASCII bytes."""
        try:
            self.bytes_u8(value.encode("ascii"))
        except UnicodeEncodeError as error:
            raise PayloadError(f"text must be ASCII: {value!r}") from error

    def transitions_u8(self, value: tuple[Transition, ...]) -> None:
        """A count and entries of four bytes."""
        self._integer(len(value), 1)
        for entry in value:
            if not 0 <= entry.sensed < 128:
                raise PayloadError(f"sensed line {entry.sensed} is not in 0..127")
            self._integer(entry.delta, 2)
            self._integer(entry.driven, 1)
            self._out.append(entry.sensed | (0x80 if entry.closed else 0))

    def openings_u8(self, value: tuple[Opening, ...]) -> None:
        """A count and entries of nine bytes."""
        self._integer(len(value), 1)
        for entry in value:
            self._integer(entry.pair, 1)
            self._integer(entry.start, 4)
            self._integer(entry.length, 4)

    def done(self) -> bytes:
        """All fields so far."""
        return bytes(self._out)


class PayloadReader:
    """Takes fields in order; PayloadError where the payload is too short or too long."""

    def __init__(self, payload: bytes) -> None:
        self._payload = payload
        self._at = 0

    def _take(self, size: int) -> bytes:
        part = self._payload[self._at : self._at + size]
        if len(part) < size:
            raise PayloadError(f"payload of {len(self._payload)} byte(s) ends at offset {self._at}, {size} more expected")
        self._at += size
        return part

    def u8(self) -> int:
        """One byte."""
        return self._take(1)[0]

    def u16(self) -> int:
        """Two bytes, low byte first."""
        return int.from_bytes(self._take(2), "little")

    def u32(self) -> int:
        """Four bytes, low byte first."""
        return int.from_bytes(self._take(4), "little")

    def bytes_u8(self) -> bytes:
        """A count and that many bytes."""
        return self._take(self.u8())

    def text_u8(self) -> str:
        """A count and that many ASCII bytes."""
        raw = self.bytes_u8()
        try:
            return raw.decode("ascii")
        except UnicodeDecodeError as error:
            raise PayloadError(f"text at offset {self._at - len(raw)} is not ASCII: {raw!r}") from error

    def transitions_u8(self) -> tuple[Transition, ...]:
        """A count and entries of four bytes."""
        entries = []
        for _ in range(self.u8()):
            delta, driven, sensed = self.u16(), self.u8(), self.u8()
            entries.append(Transition(delta, driven, sensed & 0x7F, bool(sensed & 0x80)))
        return tuple(entries)

    def openings_u8(self) -> tuple[Opening, ...]:
        """A count and entries of nine bytes."""
        return tuple(Opening(self.u8(), self.u32(), self.u32()) for _ in range(self.u8()))

    def done(self) -> None:
        """PayloadError if anything is left over."""
        if self._at != len(self._payload):
            raise PayloadError(f"{len(self._payload) - self._at} byte(s) too many at offset {self._at}")
