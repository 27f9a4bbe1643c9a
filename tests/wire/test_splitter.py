"""The splitter: any chunking, any garbage."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from tailwise.wire.frames import Frame, FrameError, FrameSplitter, encode_frame
from tailwise.wire.messages import MAX_DECODED_BYTES, MESSAGE_TYPES
from tailwise.wire.payload import PayloadError
from tests.wire.vectors import load

WIRES = [bytes.fromhex(vector["wire"]) for vector in load("good.jsonl") + load("bad.jsonl")]
frames = st.builds(encode_frame, st.integers(0, 255), st.integers(0, 65535), st.binary(max_size=MAX_DECODED_BYTES - 6))
pieces = st.lists(frames | st.sampled_from(WIRES) | st.binary(max_size=40) | st.just(b"\x55" * 400), max_size=8)


def read(chunks: list[bytes]) -> tuple[list[object], int]:
    splitter = FrameSplitter()
    found: list[object] = []
    for chunk in chunks:
        found += [(error.rule, error.frame) if isinstance(error, FrameError) else error for error in splitter.feed(chunk)]
    return found, splitter.resyncs


@given(pieces, st.lists(st.integers(0, 3000), max_size=12))
def test_any_chunking_gives_the_same_frames_and_errors(parts: list[bytes], cuts: list[int]) -> None:
    stream = b"".join(parts)
    edges = sorted({0, len(stream), *(cut for cut in cuts if cut < len(stream))})
    chunks = [stream[a:b] for a, b in pairwise(edges)]
    assert read(chunks) == read([stream]) == read([bytes([byte]) for byte in stream])


@given(st.lists(frames, max_size=6))
def test_frames_come_back_in_order(wires: list[bytes]) -> None:
    found = FrameSplitter().feed(b"".join(wires))
    assert [encode_frame(f.type, f.number, f.payload) for f in found if isinstance(f, Frame)] == wires
    assert len(found) == len(wires)


@given(st.binary(max_size=600), st.integers(0, 255), st.binary(max_size=40))
def test_after_any_garbage_the_next_00_puts_it_in_step(garbage: bytes, kind: int, payload: bytes) -> None:
    found = FrameSplitter().feed(garbage + b"\0" + encode_frame(kind, 7, payload))
    assert found[-1] == Frame(kind, 7, payload)


def test_an_endless_stream_without_00_is_held_in_bounded_memory() -> None:
    splitter = FrameSplitter()
    for _ in range(100):
        assert splitter.feed(b"\x11" * 10_000) == []
    (error,) = splitter.feed(b"\0")
    assert isinstance(error, FrameError)
    assert len(error.frame) <= MAX_DECODED_BYTES + 2


@given(st.sampled_from(sorted(MESSAGE_TYPES)), st.binary(max_size=MAX_DECODED_BYTES - 6))
def test_a_payload_is_its_message_or_a_payload_error(kind: int, payload: bytes) -> None:
    try:
        message = MESSAGE_TYPES[kind].parse(payload)
    except PayloadError:
        return
    assert message.payload() == payload
