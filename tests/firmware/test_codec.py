"""The firmware's codec, compiled for this machine, against the shared vectors and the host's own codec."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tailwise.wire.frames import Frame, FrameSplitter, encode_frame
from tests.simboard.build import REFERENCE

VECTORS = REFERENCE.parent / "vectors"
LONGEST = 254


def vectors(name: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (VECTORS / name).read_text(encoding="utf-8").splitlines()]


class Codec:
    """The compiled codec; every call is one line to it and one line back."""

    def __init__(self, program: Path) -> None:
        self._process = subprocess.Popen([str(program)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def _ask(self, line: str) -> str:
        assert self._process.stdin is not None and self._process.stdout is not None
        self._process.stdin.write(line + "\n")
        self._process.stdin.flush()
        return self._process.stdout.readline().strip()

    def decode(self, wire: bytes) -> list[str]:
        """Decoded frames in hex, `bad` for each bad one."""
        answer = self._ask(f"decode {wire.hex()}")
        return [] if answer == "nothing" else answer.split()

    def encode(self, body: bytes) -> bytes:
        """A frame without its checksum, as it goes over the wire."""
        return bytes.fromhex(self._ask(f"encode {body.hex()}"))

    def close(self) -> None:
        """End the program."""
        self._process.communicate()


@pytest.fixture(scope="module")
def codec(tmp_path_factory: pytest.TempPathFactory) -> Any:
    program = tmp_path_factory.mktemp("codec") / "codec"
    source = Path(__file__).parent / "codec_host.c"
    flags = ["-std=c11", "-Wall", "-Wextra", "-Werror", f"-DDECODER_BYTES={LONGEST}", f"-I{REFERENCE}"]
    subprocess.run(["gcc", *flags, str(source), str(REFERENCE / "frame.c"), "-o", str(program)], check=True)
    codec = Codec(program)
    yield codec
    codec.close()


def test_good_vectors_decode_and_encode_to_the_same_bytes(codec: Codec) -> None:
    for vector in vectors("good.jsonl"):
        decoded, wire = bytes.fromhex(vector["decoded"]), bytes.fromhex(vector["wire"])
        assert codec.decode(wire) == [decoded.hex()], vector["case"]
        assert codec.encode(decoded[:-2]) == wire, vector["case"]


def test_bad_frames_are_refused(codec: Codec) -> None:
    for vector in vectors("bad.jsonl"):
        if vector["layer"] == "frame":
            assert codec.decode(bytes.fromhex(vector["wire"])) == ["bad"], vector["case"]


def test_after_a_bad_frame_the_next_good_one_is_taken(codec: Codec) -> None:
    good = vectors("good.jsonl")[1]
    for vector in vectors("bad.jsonl"):
        if vector["layer"] == "frame":
            assert codec.decode(bytes.fromhex(vector["wire"] + good["wire"])) == ["bad", good["decoded"]], vector["case"]


def test_silence_is_neither_good_nor_bad(codec: Codec) -> None:
    assert codec.decode(b"\0\0\0") == []


@settings(max_examples=200, deadline=None)
@given(kind=st.integers(0, 255), number=st.integers(0, 65535), payload=st.binary(max_size=LONGEST - 6))
def test_both_codecs_make_the_same_frames(codec: Codec, kind: int, number: int, payload: bytes) -> None:
    wire = encode_frame(kind, number, payload)
    body = bytes([len(payload) + 6, kind]) + number.to_bytes(2, "little") + payload
    assert codec.encode(body) == wire
    assert [text[: 2 * len(body)] for text in codec.decode(wire)] == [body.hex()]


@settings(max_examples=300, deadline=None)
@given(data=st.lists(st.sampled_from([0, 1, 2, 3, 6, 7, 255]) | st.integers(0, 255), max_size=600).map(bytes))
def test_both_codecs_judge_any_bytes_alike(codec: Codec, data: bytes) -> None:
    theirs = [item if isinstance(item, Frame) else None for item in FrameSplitter().feed(data)]
    ours = codec.decode(data)
    assert [text == "bad" for text in ours] == [frame is None for frame in theirs]


@pytest.mark.parametrize("vector", vectors("good.jsonl")[:8], ids=lambda vector: str(vector["case"]))
def test_every_single_bit_flip_on_the_wire_is_caught(codec: Codec, vector: dict[str, Any]) -> None:
    wire = bytes.fromhex(vector["wire"])
    for bit in range(8 * len(wire)):
        flipped = bytearray(wire)
        flipped[bit // 8] ^= 1 << bit % 8
        assert set(codec.decode(bytes(flipped))) <= {"bad"}, bit
