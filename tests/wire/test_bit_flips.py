"""No damaged frame passes: every single bit flip on the wire, every frame type; pairs of flips counted.

A flip that makes a 00 splits the frame; one in the closing 00 runs it into the next. Both are judged by what a
splitter makes of the stream with a good frame after it: no frame may appear that was not sent.
"""

from __future__ import annotations

import random
from collections.abc import Iterable
from itertools import combinations

import pytest

from tailwise.wire.frames import Frame, FrameSplitter, encode
from tailwise.wire.messages import Alive
from tests.wire.vectors import load

WIRES = {bytes.fromhex(vector["wire"]) for vector in load("good.jsonl")}
AFTER = encode(Alive(), 0x1234)


def flipped(wire: bytes, bits: Iterable[int]) -> bytes:
    """The bytes with these bits turned over."""
    number = int.from_bytes(wire, "little")
    for bit in bits:
        number ^= 1 << bit
    return number.to_bytes(len(wire), "little")


def frames_of(stream: bytes) -> list[Frame]:
    """The good frames of a stream."""
    return [found for found in FrameSplitter().feed(stream) if isinstance(found, Frame)]


def wrong_frames(wire: bytes, bits: Iterable[int]) -> int:
    """Frames that appear and were never sent."""
    sent = frames_of(wire + AFTER)
    return sum(frame not in sent for frame in frames_of(flipped(wire, bits) + AFTER))


def test_the_check_itself_sees_a_wrong_frame() -> None:
    wire, other = encode(Alive(), 1), encode(Alive(), 2)
    difference = int.from_bytes(wire, "little") ^ int.from_bytes(other, "little")
    bits = [bit for bit in range(8 * len(wire)) if difference >> bit & 1]
    assert wrong_frames(wire, bits) == 1


def test_every_single_bit_flip_of_every_vector_is_caught() -> None:
    for wire in WIRES:
        undamaged = frames_of(wire + AFTER)
        for bit in range(8 * len(wire)):
            found = frames_of(flipped(wire, [bit]) + AFTER)
            assert all(frame in undamaged[1:] for frame in found), (wire.hex(), bit)


def test_a_flip_outside_the_closing_00_costs_one_frame_only() -> None:
    for wire in WIRES:
        for bit in range(8 * (len(wire) - 1)):
            assert frames_of(flipped(wire, [bit]) + AFTER) == frames_of(AFTER), (wire.hex(), bit)


def test_pairs_of_flips_are_counted(capsys: pytest.CaptureFixture[str]) -> None:
    short = sorted(wire for wire in WIRES if len(wire) <= 11)
    tried = passed = 0
    for wire in short:
        for pair in combinations(range(8 * len(wire)), 2):
            tried += 1
            passed += wrong_frames(wire, pair) > 0
    pick = random.Random(20)
    sampled = sampled_passed = 0
    for wire in sorted(WIRES):
        for _ in range(200):
            sampled += 1
            sampled_passed += wrong_frames(wire, pick.sample(range(8 * len(wire)), 2)) > 0
    with capsys.disabled():
        print(f"\ntwo-bit flips on the wire: {passed} wrong frames in {tried} (all pairs of {len(short)} short frames), ")
        print(f"{sampled_passed} in {sampled} sampled over all {len(WIRES)} vectors")
    assert tried > 20_000 and sampled > 10_000
    assert passed * 10_000 <= tried
    assert sampled_passed * 1_000 <= sampled


def test_bursts_of_up_to_16_bits_inside_the_decoded_frame_are_caught() -> None:
    """Any burst no longer than the CRC is caught (0x1021 has the term 1: worked out from the polynomial)."""
    pick = random.Random(21)
    for vector in load("good.jsonl"):
        decoded = bytes.fromhex(vector["decoded"])
        for _ in range(50):
            at = pick.randrange(8 * len(decoded) - 15)
            pattern = pick.randrange(1, 1 << 16)
            damaged = flipped(decoded, (at + bit for bit in range(16) if pattern >> bit & 1))
            assert damaged != decoded
            assert not frames_of(stuffed(damaged))


def stuffed(decoded: bytes) -> bytes:
    """Decoded bytes on the wire, right or wrong."""
    return b"".join(bytes([len(block) + 1]) + block for block in decoded.split(b"\0")) + b"\0"
