"""Frames: COBS, the length byte and the CRC.

Theory. A frame on the wire is COBS(length | type | number | payload | crc) followed by one 00. Consistent overhead
byte stuffing (Cheshire and Baker, IEEE/ACM Transactions on Networking 1999) removes every 00 from the frame, so a 00
can only be a frame's end and a receiver is in step again after the next one. COBS lies outside the checksum: a flipped
bit in a code byte moves or splits the decoded bytes, which a CRC does not promise to catch; therefore the decoded
length comes first, under the CRC. The CRC is `x-25` of crcmod's predefined set (polynomial x^16 + x^12 + x^5 + 1).
"""

from __future__ import annotations

from dataclasses import dataclass

import crcmod.predefined

from tailwise.wire.messages import CRC, CRC_BYTES, HEADER_BYTES, MAX_DECODED_BYTES, MESSAGE_TYPES, Message
from tailwise.wire.payload import PayloadError

_crc = crcmod.predefined.mkPredefinedCrcFun(CRC)
_SHORTEST = HEADER_BYTES + CRC_BYTES
_LONGEST_ON_WIRE = MAX_DECODED_BYTES + 2
_FULL_BLOCK = 254


def crc16(data: bytes) -> int:
    """CRC-16/IBM-SDLC of data (check value of `123456789`: 906E, catalogue of parametrised CRC algorithms)."""
    return int(_crc(data))


class FrameError(ValueError):
    """Bytes that are not a good frame; `rule` is the broken rule in a few words."""

    def __init__(self, rule: str, frame: bytes) -> None:
        super().__init__(f"{rule}: {frame.hex(' ')}")
        self.rule = rule
        self.frame = frame


def cobs_encode(data: bytes) -> bytes:
    """Stuff data; the result holds no 00 and no delimiter. At most one byte more in each 254."""
    out = bytearray()
    parts = data.split(b"\0")
    for part in parts[:-1]:
        _put_blocks(out, part)
        out.append(len(part) % _FULL_BLOCK + 1)
        out += part[len(part) - len(part) % _FULL_BLOCK :]
    last = parts[-1]
    _put_blocks(out, last)
    rest = len(last) % _FULL_BLOCK
    if rest or not last:
        out.append(rest + 1)
        out += last[len(last) - rest :]
    return bytes(out)


def _put_blocks(out: bytearray, part: bytes) -> None:
    """The full blocks of a stretch without 00."""
    for at in range(0, len(part) - _FULL_BLOCK + 1, _FULL_BLOCK):
        out.append(_FULL_BLOCK + 1)
        out += part[at : at + _FULL_BLOCK]


def cobs_decode(stuffed: bytes) -> bytes:
    """Undo cobs_encode; both conventions for a last full block are taken. FrameError where it is not COBS."""
    if 0 in stuffed:
        raise FrameError("a 00 inside a frame", stuffed)
    out = bytearray(stuffed)
    full: list[int] = []
    at = 0
    while at < len(stuffed):
        code = stuffed[at]
        out[at] = 0
        at += code
        if code > _FULL_BLOCK:
            full.append(at)
    if at != len(stuffed):
        raise FrameError("a COBS block runs past the end of the frame", stuffed)
    for after in reversed(full):
        del out[after : after + 1]
    return bytes(out[1:])


@dataclass(frozen=True, slots=True)
class Frame:
    """One good frame: its type, its number (0..65535) and its payload."""

    type: int
    number: int
    payload: bytes

    def message(self) -> Message | None:
        """The message, or None for a type this version does not know; PayloadError where the payload is wrong."""
        kind = MESSAGE_TYPES.get(self.type)
        return None if kind is None else kind.parse(self.payload)


def encode_frame(kind: int, number: int, payload: bytes) -> bytes:
    """Bytes for the wire, the closing 00 included; PayloadError where the payload is too long."""
    length = _SHORTEST + len(payload)
    if length > MAX_DECODED_BYTES:
        raise PayloadError(f"a frame of {length} decoded bytes is longer than {MAX_DECODED_BYTES}")
    body = bytes([length, kind]) + number.to_bytes(2, "little") + payload
    return cobs_encode(body + crc16(body).to_bytes(2, "little")) + b"\0"


def encode(message: Message, number: int) -> bytes:
    """A message as bytes for the wire."""
    return encode_frame(message.TYPE, number, message.payload())


def decode_frame(stuffed: bytes) -> Frame:
    """One frame without its closing 00; FrameError names the broken rule."""
    if len(stuffed) > _LONGEST_ON_WIRE:
        raise FrameError("longer than any frame", stuffed)
    decoded = cobs_decode(stuffed)
    if len(decoded) < _SHORTEST:
        raise FrameError("shorter than any frame", stuffed)
    if len(decoded) > MAX_DECODED_BYTES:
        raise FrameError("longer than any frame", stuffed)
    if decoded[0] != len(decoded):
        raise FrameError(f"length byte {decoded[0]} but {len(decoded)} decoded bytes", stuffed)
    if crc16(decoded[:-2]) != int.from_bytes(decoded[-2:], "little"):
        raise FrameError("wrong CRC", stuffed)
    return Frame(decoded[1], int.from_bytes(decoded[2:4], "little"), decoded[4:-2])


class FrameSplitter:
    """Cuts a stream at its 00 bytes; any chunking gives the same frames and the same errors.

    Empty frames (two 00 in a row) are silence, not errors. `resyncs` counts runs of bytes that were no frame.
    """

    def __init__(self) -> None:
        self._pending = bytearray()
        self._overlong = False
        self.resyncs = 0

    def feed(self, data: bytes) -> list[Frame | FrameError]:
        """Frames and errors completed by these bytes, in order."""
        results: list[Frame | FrameError] = []
        parts = data.split(b"\0")
        for index, part in enumerate(parts):
            if not self._overlong:
                self._pending += part
                if len(self._pending) > _LONGEST_ON_WIRE:
                    self._overlong = True
                    del self._pending[_LONGEST_ON_WIRE:]
            if index == len(parts) - 1:
                break
            stuffed = bytes(self._pending)
            self._pending.clear()
            if self._overlong:
                self._overlong = False
                self.resyncs += 1
                results.append(FrameError("longer than any frame", stuffed))
            elif stuffed:
                try:
                    results.append(decode_frame(stuffed))
                except FrameError as error:
                    self.resyncs += 1
                    results.append(error)
        return results
