"""The committed vectors through the codec: host and vectors are written apart and must agree."""

from __future__ import annotations

from typing import Any

import pytest

from tailwise.wire.frames import Frame, FrameError, FrameSplitter, decode_frame, encode, encode_frame
from tailwise.wire.messages import MAX_DECODED_BYTES, MESSAGE_TYPES
from tailwise.wire.payload import PayloadError
from tests.wire.vectors import built, load, shown

GOOD = load("good.jsonl")
BAD_FRAMES = [vector for vector in load("bad.jsonl") if vector["layer"] == "frame"]
BAD_PAYLOADS = [vector for vector in load("bad.jsonl") if vector["layer"] == "payload"]
RULES = {
    "too short": "shorter than any frame",
    "too long": "longer than any frame",
    "COBS block past the end": "a COBS block runs past the end of the frame",
    "wrong length byte": "length byte",
    "wrong CRC": "wrong CRC",
}


def named(vector: dict[str, Any]) -> str:
    return f"{vector.get('message', vector.get('rule'))}: {vector['case']}"


@pytest.mark.parametrize("vector", GOOD, ids=named)
def test_good_vectors_decode_to_their_message(vector: dict[str, Any]) -> None:
    wire = bytes.fromhex(vector["wire"])
    frame = decode_frame(wire[:-1])
    assert frame.number == vector["number"]
    message = frame.message()
    if vector["message"] is None:
        assert message is None
        assert (frame.type, frame.payload.hex()) == (vector["fields"]["type"], vector["fields"]["payload"])
    else:
        assert message == built(vector)
        assert message is not None
        assert shown(message) == vector["fields"]


@pytest.mark.parametrize("vector", GOOD, ids=named)
def test_good_vectors_encode_to_their_bytes(vector: dict[str, Any]) -> None:
    if vector["message"] is None:
        wire = encode_frame(vector["fields"]["type"], vector["number"], bytes.fromhex(vector["fields"]["payload"]))
    else:
        wire = encode(built(vector), vector["number"])
    assert wire.hex() == vector["wire"]
    assert wire.index(0) == len(wire) - 1


@pytest.mark.parametrize("vector", BAD_FRAMES, ids=named)
def test_bad_frames_are_one_error_each_and_the_next_frame_is_read(vector: dict[str, Any]) -> None:
    splitter = FrameSplitter()
    first, second = splitter.feed(bytes.fromhex(vector["wire"]) + bytes.fromhex(GOOD[0]["wire"]))
    assert isinstance(first, FrameError)
    assert first.rule.startswith(RULES[vector["rule"]])
    assert isinstance(second, Frame)
    assert splitter.resyncs == 1


@pytest.mark.parametrize("vector", BAD_PAYLOADS, ids=named)
def test_bad_payloads_pass_as_frames_and_fail_as_messages(vector: dict[str, Any]) -> None:
    frame = decode_frame(bytes.fromhex(vector["wire"])[:-1])
    with pytest.raises(PayloadError):
        frame.message()


def test_every_message_type_has_vectors_of_all_zeros_and_of_all_ones() -> None:
    covered = {(vector["message"], vector["case"]) for vector in GOOD}
    for kind in MESSAGE_TYPES:
        names = {vector["message"] for vector in GOOD if bytes.fromhex(vector["decoded"])[1] == kind}
        (name,) = names
        assert {(name, "every field 0"), (name, "every bit 1")} <= covered


def test_the_longest_frame_is_among_the_vectors() -> None:
    assert max(len(bytes.fromhex(vector["decoded"])) for vector in GOOD) == MAX_DECODED_BYTES


def test_every_rule_has_a_bad_vector() -> None:
    assert {vector["rule"] for vector in BAD_FRAMES} == set(RULES)
    assert {vector["rule"] for vector in BAD_PAYLOADS} == {"payload too short", "payload too long", "text not ASCII"}
