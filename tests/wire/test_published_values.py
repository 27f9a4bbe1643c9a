"""CRC and COBS against published values and an independent implementation."""

from __future__ import annotations

import crcmod.predefined
import pytest
from cobs import cobs as independent
from hypothesis import given
from hypothesis import strategies as st

from tailwise.wire.frames import FrameError, cobs_decode, cobs_encode, crc16
from tailwise.wire.messages import CRC_RESIDUE

# Catalogue of parametrised CRC algorithms: value over ASCII `123456789`; MODBUS, CRC-32 and CRC-32C worked out from
# the parameters the catalogue gives. Names are those of crcmod's predefined set.
CATALOGUE = {
    "crc-ccitt-false": 0x29B1,
    "xmodem": 0x31C3,
    "kermit": 0x2189,
    "x-25": 0x906E,
    "crc-16": 0xBB3D,
    "crc-aug-ccitt": 0xE5CC,
    "crc-16-t10-dif": 0xD0DB,
    "modbus": 0x4B37,
    "crc-32": 0xCBF43926,
    "crc-32c": 0xE3069283,
}

# Cheshire and Baker, IEEE/ACM Transactions on Networking 1999, and its published examples.
COBS_EXAMPLES = [
    ("", "01"),
    ("00", "01 01"),
    ("00 00", "01 01 01"),
    ("11 22 00 33", "03 11 22 02 33"),
    ("11 22 33 44", "05 11 22 33 44"),
    ("11 00 00 00", "02 11 01 01 01"),
]


@pytest.mark.parametrize(("name", "value"), CATALOGUE.items())
def test_the_crc_library_gives_the_catalogue_s_check_values(name: str, value: int) -> None:
    assert crcmod.predefined.mkPredefinedCrcFun(name)(b"123456789") == value


def test_our_crc_is_ibm_sdlc_of_the_catalogue() -> None:
    assert crc16(b"123456789") == 0x906E


def test_our_crc_leaves_the_catalogue_s_residue() -> None:
    # Residue as the catalogue defines it: before the final inversion, after data and CRC (low byte first).
    data = b"123456789"
    assert crc16(data + crc16(data).to_bytes(2, "little")) ^ 0xFFFF == CRC_RESIDUE == 0xF0B8


@pytest.mark.parametrize(("data", "value"), [("", 0xFFFF), ("00", 0xE1F0), ("41", 0xB915), ("FF FF", 0x0000)])
def test_ibm_3740_values(data: str, value: int) -> None:
    # Worked out from the catalogue's parameters.
    assert crcmod.predefined.mkPredefinedCrcFun("crc-ccitt-false")(bytes.fromhex(data)) == value


@given(st.binary(max_size=64))
def test_our_crc_is_the_polynomial_division_done_bit_by_bit(data: bytes) -> None:
    register = 0xFFFF
    for byte in data:
        for bit in range(8):
            register = (register >> 1) ^ (0x8408 if (register ^ (byte >> bit)) & 1 else 0)
    assert crc16(data) == register ^ 0xFFFF


@pytest.mark.parametrize(("plain", "stuffed"), COBS_EXAMPLES)
def test_cobs_examples_of_the_paper(plain: str, stuffed: str) -> None:
    assert cobs_encode(bytes.fromhex(plain)) == bytes.fromhex(stuffed)
    assert cobs_decode(bytes.fromhex(stuffed)) == bytes.fromhex(plain)


def test_cobs_of_01_to_ff() -> None:
    # Worked out from the paper's rule: a block holds at most 254 bytes.
    data = bytes(range(1, 256))
    stuffed = bytes([0xFF, *range(1, 255), 0x02, 0xFF])
    assert cobs_encode(data) == stuffed
    assert cobs_decode(stuffed) == data


def test_both_conventions_at_254_bytes_are_taken_and_one_is_sent() -> None:
    data = bytes(range(1, 255))
    assert cobs_encode(data) == b"\xff" + data
    assert cobs_decode(b"\xff" + data) == data
    assert cobs_decode(b"\xff" + data + b"\x01") == data


@given(st.binary(max_size=1100))
def test_cobs_agrees_with_an_independent_implementation(data: bytes) -> None:
    ours = cobs_encode(data)
    theirs = independent.encode(data)
    assert ours == theirs or ours + b"\x01" == theirs
    assert cobs_decode(theirs) == data == independent.decode(theirs)
    assert 0 not in ours
    assert len(ours) <= len(data) + len(data) // 254 + 1


@given(st.integers(250, 260), st.binary(min_size=4, max_size=4))
def test_cobs_agrees_around_full_blocks(length: int, ends: bytes) -> None:
    data = ends[:2] + b"\x55" * length + ends[2:]
    assert cobs_decode(independent.encode(data)) == data == cobs_decode(cobs_encode(data))


@given(st.binary(min_size=1, max_size=300))
def test_cobs_refuses_what_the_independent_implementation_refuses(stuffed: bytes) -> None:
    try:
        theirs: bytes | None = independent.decode(stuffed)
    except independent.DecodeError:
        theirs = None
    try:
        ours: bytes | None = cobs_decode(stuffed)
    except FrameError:
        ours = None
    assert ours == theirs
