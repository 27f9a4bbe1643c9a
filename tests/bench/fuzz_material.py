"""What the fuzzer damages: frames built apart from the codec, a recording of a sound keyboard, and ways to do damage."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable

from cobs import cobs as independent_cobs

from tailwise.layoutfile.library import find_layout
from tailwise.link.base import LinkEnded
from tailwise.practice.link import BenchLink
from tailwise.practice.operator import Press, Still
from tailwise.practice.virtual import Bench, Setup
from tailwise.recording.format import Header, Received, Record, Sent
from tailwise.recording.writer import header_to_json, record_to_json
from tailwise.wire.frames import encode
from tailwise.wire.messages import MESSAGE_TYPES, Alive, Command, Hello, SetLines, SetScan, Start

LAYOUT = "demo-7x6"


def crc(data: bytes) -> int:
    """The frame's CRC as PROTOCOL.md writes it down."""
    register = 0xFFFF
    for byte in data:
        register ^= byte
        for _ in range(8):
            register = (register >> 1) ^ (0x8408 if register & 1 else 0)
    return register ^ 0xFFFF


def on_the_wire(kind: int, number: int, payload: bytes) -> bytes:
    """A frame by the prose, COBS by another implementation."""
    body = bytes([len(payload) + 6, kind]) + number.to_bytes(2, "little") + payload
    stuffed: bytes = independent_cobs.encode(body + crc(body).to_bytes(2, "little"))
    return stuffed + b"\0"


def random_frame(rng: random.Random) -> bytes:
    """A good frame of a random type; payloads of random bytes, of many zeros, or short."""
    kind = rng.choice([*MESSAGE_TYPES, rng.randrange(256)])
    length = rng.choice([rng.randrange(12), rng.randrange(60), rng.randrange(249)])
    payload = rng.randbytes(length) if rng.random() < 0.6 else bytes(rng.choice([0, 0, 0, 1, 255]) for _ in range(length))
    return on_the_wire(kind, rng.randrange(65536), payload)


def flipped(data: bytes, rng: random.Random, count: int) -> bytes:
    """`count` different bits turned over."""
    out = bytearray(data)
    for bit in rng.sample(range(8 * len(data)), min(count, 8 * len(data))):
        out[bit >> 3] ^= 1 << (bit & 7)
    return bytes(out)


def _cut_out(data: bytes, rng: random.Random) -> bytes:
    first = rng.randrange(len(data))
    return data[:first] + data[first + rng.randrange(1, 12) :]


def _put_in(data: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    return data[:at] + rng.randbytes(rng.randrange(1, 12)) + data[at:]


def _doubled(data: bytes, rng: random.Random) -> bytes:
    first = rng.randrange(len(data))
    part = data[first : first + rng.randrange(1, 40)]
    return data[:first] + part + part + data[first + len(part) :]


def _overwritten(data: bytes, rng: random.Random) -> bytes:
    first = rng.randrange(len(data))
    noise = rng.randbytes(rng.randrange(1, 16))
    return data[:first] + noise + data[first + len(noise) :]


def _swapped(data: bytes, rng: random.Random) -> bytes:
    first, second = sorted((rng.randrange(len(data)), rng.randrange(len(data))))
    size = rng.randrange(1, 20)
    if first + size > second:
        return data
    return (
        data[:first]
        + data[second : second + size]
        + data[first + size : second]
        + data[first : first + size]
        + data[second + size :]
    )


DAMAGE: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _cut_out,
    _put_in,
    _doubled,
    _overwritten,
    _swapped,
    lambda data, rng: flipped(data, rng, rng.randrange(1, 9)),
    lambda data, rng: data[: rng.randrange(len(data) + 1)],
)


def damaged(data: bytes, rng: random.Random) -> bytes:
    """Some damage, once or a few times."""
    for _ in range(rng.choice([1, 1, 1, 2, 4])):
        if data:
            data = rng.choice(DAMAGE)(data, rng)
    return data


ODD_VALUES = (
    b"null -1 0 1e999 NaN [] {} true false 4294967296 0.5 'x' \"\" [[[[ &a *a !!python/object:x ~ 1:2 \xc3\xa9 "
    b"99999999999999999999 99999-12-31 0x"
).split()


def retyped(text: bytes, rng: random.Random) -> bytes:
    """A word or number of a text replaced by an odd value or by another of its words."""
    words = [found.span() for found in re.finditer(rb"[\w.]+", text)]
    for _ in range(rng.choice([1, 1, 2])):
        first, last = rng.choice(words)
        other = rng.choice(words)
        text = text[:first] + (rng.choice(ODD_VALUES) if rng.random() < 0.5 else text[slice(*other)]) + text[last:]
    return text


def sound_recording() -> tuple[Header, tuple[Record, ...]]:
    """A short run on a sound keyboard, every key pressed once, recorded by a host of ten lines."""
    layout = find_layout(LAYOUT)
    link = BenchLink(Bench(Setup(layout, (Press(), Still(1)))))
    records: list[Record] = []
    commands: list[Command] = [Hello(1, 1), SetLines(b"\x03" * len(layout.lines)), SetScan(1000, 0), Start(0)]
    number, say_at = 0, 0
    try:
        while True:
            if link.now_us() >= say_at and link.now_us() > 400_000:
                message = commands.pop(0) if commands else Alive()
                wire = encode(message, number)
                link.write(wire)
                records.append(Sent(link.now_us(), wire))
                number, say_at = number + 1, link.now_us() + (50_000 if commands else 400_000)
            data = link.read(0.02)
            if data:
                records.append(Received(link.now_us(), data))
    except LinkEnded:
        return Header(LAYOUT, layout.text), tuple(records)


def recording_bytes(header: Header, records: tuple[Record, ...]) -> bytes:
    """The file of a recording."""
    lines = [header_to_json(header), *(record_to_json(record) for record in records), {"t": 0, "end": {}}]
    return b"".join(json.dumps(line).encode() + b"\n" for line in lines)
