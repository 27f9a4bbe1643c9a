"""Make the vectors: bytes <-> message, good and bad, for every implementation of the protocol.

Prints one JSON object {file name: content} for generate.py. It encodes straight from protocol.yaml with its own COBS
and its own bitwise CRC and imports nothing from the host, so that host, firmware and vectors can only agree by being
right. One JSON object a line:

good.jsonl  case, message, number, fields, decoded (hex), wire (hex, closing 00 included); message null: a good frame of
            a type that protocol 1 does not know, its payload in `fields`
bad.jsonl   case, layer, rule, wire (hex); layer `frame`: no good frame, to be counted and dropped; layer `payload`: a good
            frame whose payload does not fit its message
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import yaml

SPEC = yaml.safe_load((Path(__file__).resolve().parent / "protocol.yaml").read_text(encoding="utf-8"))
SIZES = {"u8": 1, "u16": 2, "u32": 4}
LONGEST = int(SPEC["frame"]["max_decoded_bytes"])


def crc(data: bytes) -> bytes:
    """The frame's CRC bit by bit: polynomial 1021 reflected to 8408, from FFFF, inverted; low byte first."""
    register = 0xFFFF
    for byte in data:
        register ^= byte
        for _ in range(8):
            register = (register >> 1) ^ (0x8408 if register & 1 else 0)
    return (register ^ 0xFFFF).to_bytes(2, "little")


def stuff(decoded: bytes) -> bytes:
    """COBS and the closing 00, for frames of up to 254 bytes: every block ends at a 00 or at the end."""
    return b"".join(bytes([len(block) + 1]) + block for block in decoded.split(b"\0")) + b"\0"


def framed(kind: int, number: int, payload: bytes) -> bytes:
    """The decoded frame around a payload."""
    body = bytes([4 + len(payload) + 2, kind]) + number.to_bytes(2, "little") + payload
    return body + crc(body)


def field_bytes(kind: str, value: Any) -> bytes:
    """One field as in PROTOCOL.md; `value` as in the vectors' JSON."""
    if kind in SIZES:
        return int(value).to_bytes(SIZES[kind], "little")
    if kind == "bytes_u8":
        raw = bytes.fromhex(value)
        return bytes([len(raw)]) + raw
    if kind == "text_u8":
        return bytes([len(value)]) + value.encode("ascii")
    out = bytes([len(value)])
    if kind == "openings_u8":
        for entry in value:
            out += bytes([entry["pair"]]) + entry["start"].to_bytes(4, "little") + entry["length"].to_bytes(4, "little")
        return out
    for entry in value:
        out += entry["delta"].to_bytes(2, "little") + bytes([entry["driven"], entry["sensed"] | entry["closed"] << 7])
    return out


def payload_of(message: str, fields: dict[str, Any]) -> bytes:
    """The payload of a message from its fields."""
    return b"".join(field_bytes(field["kind"], fields[field["name"]]) for field in SPEC["messages"][message]["fields"])


def filled(message: str, number: int, text: str, count: int) -> dict[str, Any]:
    """Fields all at one number: integers cut to their size, counted fields with `count` elements."""
    fields: dict[str, Any] = {}
    for field in SPEC["messages"][message]["fields"]:
        kind = field["kind"]
        if kind in SIZES:
            fields[field["name"]] = number & ((1 << (8 * SIZES[kind])) - 1)
        elif kind == "bytes_u8":
            fields[field["name"]] = bytes([number & 0xFF] * count).hex()
        elif kind == "text_u8":
            fields[field["name"]] = text * count
        elif kind == "openings_u8":
            fields[field["name"]] = [{"pair": number & 1, "start": number, "length": number & 0xFFFFFFFF}] * count
        else:
            entry = {"delta": number & 0xFFFF, "driven": number & 0xFF, "sensed": number & 0x7F, "closed": number & 1}
            fields[field["name"]] = [entry] * min(count, SPEC["limits"]["max_transitions"])
    return fields


def ordinary_cases() -> list[tuple[str, str, int, dict[str, Any]]]:
    """Frames of an ordinary run, in the order in which they pass, and the edges of single fields."""
    edges = "0102040810204080"
    seen = {"delta": 0, "driven": 3, "sensed": 9, "closed": 1}
    gone = {"delta": 4000, "driven": 9, "sensed": 3, "closed": 0}
    healthy = {"dropped": 0, "bad_frames": 0, "overruns": 0}
    ready = {"clock": 900, "state": 0, **healthy, "scans": 0, "worst_scan_us": 0, "overloads": 0}
    ill = {"bad_frames": 65535, "overruns": 65535, "scans": 4294967295, "worst_scan_us": 65535, "overloads": 7}
    identity = {
        "command": 1,
        "protocol_min": 1,
        "protocol_max": 1,
        "firmware_major": 1,
        "firmware_minor": 2,
        "firmware_patch": 3,
        "line_count": 24,
        "capabilities": 1,
        "clock_tick_ns": 1000,
        "settle_default_ns": 8000,
        "settle_max_ns": 400000,
        "queue_transitions": 512,
        "max_command_bytes": 64,
        "checked_lines": "ffff00",
        "unique_id": "00112233",
        "board": "reference board",
    }
    short = {"pair": 0, "start": 4294967290, "length": 5}
    long = {"pair": 1, "start": 3, "length": 200000}
    sums = {"openings_first": 1, "open_first": 5, "openings_second": 1, "open_second": 200000}
    watched = {"clock": 200003, "closed": 3, **sums, "blind": 12, "dropped": 0, "shortest_ns": 1000}
    largest = identity | {"line_count": 40, "checked_lines": "ff" * 5, "unique_id": "a5" * 16, "board": "B" * 32}
    return [
        ("after a reset by DTR", "BOOTED", 0, {"cause": 2}),
        ("first command", "HELLO", 1, {"protocol_min": 1, "protocol_max": 1}),
        ("a host of the future", "HELLO", 0, {"protocol_min": 2, "protocol_max": 255}),
        ("24 lines", "IDENTITY", 1, identity),
        ("no serial number, nothing checked", "IDENTITY", 2, identity | {"unique_id": "", "checked_lines": ""}),
        ("longest identity", "IDENTITY", 3, largest),
        ("13 lines in both roles", "SET_LINES", 2, {"roles": "03" * 13}),
        ("every role, 40 lines", "SET_LINES", 3, {"roles": "00010203" * 10}),
        ("no line at all", "SET_LINES", 4, {"roles": ""}),
        ("as fast as the board can", "SET_SCAN", 5, {"period_us": 0, "settle_ns": 0}),
        ("1 ms and 10 us", "SET_SCAN", 6, {"period_us": 1000, "settle_ns": 10000}),
        ("longest period", "SET_SCAN", 7, {"period_us": 20000, "settle_ns": 4294967295}),
        ("the matrix", "START", 8, {"mode": 0}),
        ("stop", "STOP", 9, {}),
        ("the host is there", "ALIVE", 65535, {}),
        ("numbers wrap", "ALIVE", 0, {}),
        ("every line clear", "LINE_CHECK", 10, {"clock": 123456, "statuses": "01" * 13 + "00" * 11}),
        ("every status", "LINE_CHECK", 11, {"clock": 4294967295, "statuses": "0001020304"}),
        ("start carried out", "ACK", 12, {"command": 8, "command_type": 4, "clock": 123460}),
        ("command numbers wrap", "ACK", 13, {"command": 65535, "command_type": 6, "clock": 0}),
        ("held line, with words", "REFUSED", 14, refusal(8, 4, 6, 5, "line 5 is held high")),
        ("no words", "REFUSED", 15, refusal(9, 119, 1, 255, "")),
        ("longest words", "REFUSED", 16, refusal(10, 2, 3, 24, "w" * 60)),
        ("nothing closed, 2 driven of 13", "STATE", 17, {"clock": 124000, "dropped": 0, "closed": "00000000"}),
        ("line 1 and line 2 joined", "STATE", 18, {"clock": 124300, "dropped": 2, "closed": "000004000200"}),
        ("no driven line", "STATE", 19, {"clock": 1, "dropped": 0, "closed": ""}),
        ("just before the clock wraps", "STATE", 20, {"clock": 4294967295, "dropped": 0, "closed": edges}),
        ("just after the clock wrapped", "STATE", 21, {"clock": 0, "dropped": 0, "closed": edges}),
        ("40 lines, all joined", "STATE", 65535, {"clock": 5, "dropped": 4294967295, "closed": "ff" * 200}),
        ("40 lines, all apart", "STATE", 0, {"clock": 5, "dropped": 0, "closed": "00" * 200}),
        ("one closure", "TRANSITIONS", 22, {"clock": 125000, "entries": [seen]}),
        ("a closure and an opening over the wrap", "TRANSITIONS", 23, {"clock": 4294967000, "entries": [seen, gone]}),
        ("no entry", "TRANSITIONS", 24, {"clock": 7, "entries": []}),
        ("60 entries", "TRANSITIONS", 25, {"clock": 7, "entries": [seen, gone] * 30}),
        ("one pair", "SET_WATCH", 28, {"pull_up": 1, "pairs": "0a03"}),
        ("two pairs with one partner", "SET_WATCH", 29, {"pull_up": 0, "pairs": "0a030b03"}),
        ("two openings, over the wrap", "OPENINGS", 30, {"entries": [short, long]}),
        ("20 openings", "OPENINGS", 31, {"entries": [short, long] * 10}),
        ("watched", "WATCHED", 32, watched),
        ("watching starts", "START", 33, {"mode": 1}),
        ("healthy", "HEARTBEAT", 26, ready),
        ("counters at their ends", "HEARTBEAT", 27, ready | ill | {"state": 2, "dropped": 4294967295}),
    ]


def refusal(command: int, kind: int, code: int, detail: int, reason: str) -> dict[str, Any]:
    """The fields of REFUSED."""
    return {"command": command, "command_type": kind, "code": code, "detail": detail, "reason": reason}


def good_vectors() -> list[dict[str, Any]]:
    """Every good vector."""
    cases = ordinary_cases()
    for message in SPEC["messages"]:
        cases.append(("every field 0", message, 0, filled(message, 0, "", 0)))
        cases.append(("every bit 1", message, 65535, filled(message, 0xFFFFFFFF, "~", 1)))
        cases.append(("no 00 but by chance", message, 0x0101, filled(message, 0x01010101, "A", 16)))
    vectors = []
    for case, message, number, fields in cases:
        decoded = framed(SPEC["messages"][message]["type"], number, payload_of(message, fields))
        vectors.append(vector(case, message, number, fields, decoded))
    for case, kind, number, payload in (
        ("unknown type, empty", 0x7F, 3, b""),
        ("254 decoded bytes, all zero inside", 0x10, 0, bytes(LONGEST - 6)),
        ("254 decoded bytes, no 00 inside: COBS code FF", 0xC0, 0x0101, bytes([1]) * (LONGEST - 6)),
        ("254 decoded bytes, counting", 0xC1, 0xFFFF, bytes(range(1, LONGEST - 5))),
    ):
        vectors.append(vector(case, None, number, {"type": kind, "payload": payload.hex()}, framed(kind, number, payload)))
    return vectors


def vector(case: str, message: str | None, number: int, fields: dict[str, Any], decoded: bytes) -> dict[str, Any]:
    """One line of good.jsonl."""
    names = {"case": case, "message": message, "number": number, "fields": fields}
    return {**names, "decoded": decoded.hex(), "wire": stuff(decoded).hex()}


def bad_frames() -> list[tuple[str, str, bytes]]:
    """Case, broken rule, bytes on the wire: nothing here is a frame."""
    alive = framed(6, 7, b"")
    zeros = framed(0x85, 1, bytes(9))
    short = bytes([5, 6, 7])
    five = short + crc(short)
    long_body = bytes([255, 0x85, 1, 0]) + bytes(249)
    long_frame = long_body + crc(long_body)
    other_crc = alive[:-2] + bytes([alive[-1], alive[-2]])
    plain = alive[:-2] + bytes(byte ^ 0xFF for byte in alive[-2:])
    return [
        ("one byte", "too short", stuff(b"\x01")),
        ("a lone 01: an empty frame", "too short", b"\x01\0"),
        ("five decoded bytes, length and CRC right", "too short", stuff(five)),
        ("only zeros", "too short", stuff(bytes(5))),
        ("six zeros", "wrong length byte", stuff(bytes(6))),
        ("FF FF 00 00, which passes another CRC-16", "too short", stuff(b"\xff\xff\0\0")),
        ("255 decoded bytes, length and CRC right", "too long", stuff(long_frame)),
        ("300 bytes without a 00", "too long", b"\x55" * 300 + b"\0"),
        ("code FF with 253 bytes after it", "COBS block past the end", b"\xff" + b"\x11" * 253 + b"\0"),
        ("first half of a frame", "COBS block past the end", stuff(alive)[:3] + b"\0"),
        ("second half of a frame", "COBS block past the end", stuff(alive)[3:]),
        ("length one less, CRC renewed", "wrong length byte", stuff(renewed(alive, 7))),
        ("length one more, CRC renewed", "wrong length byte", stuff(renewed(alive, 9))),
        ("length 0, CRC renewed", "wrong length byte", stuff(renewed(alive, 0))),
        ("length 255, CRC renewed", "wrong length byte", stuff(renewed(alive, 255))),
        ("two frames run together, the 00 between them lost", "wrong length byte", run_together(alive, zeros)),
        ("CRC high byte first", "wrong CRC", stuff(other_crc)),
        ("CRC not inverted", "wrong CRC", stuff(plain)),
        ("CRC 00 00", "wrong CRC", stuff(alive[:-2] + b"\0\0")),
        ("number changed", "wrong CRC", stuff(alive[:2] + b"\x08" + alive[3:])),
        ("last byte changed", "wrong CRC", stuff(zeros[:-1] + bytes([zeros[-1] ^ 1]))),
        ("garbage of a boot loader", "COBS block past the end", bytes.fromhex("f0e1d2c3b4a5968778695a4b3c2d1e0f00")),
    ]


def renewed(decoded: bytes, length: int) -> bytes:
    """A frame with another length byte and a CRC to match."""
    body = bytes([length]) + decoded[1:-2]
    return body + crc(body)


def run_together(first: bytes, second: bytes) -> bytes:
    """Two frames on the wire without the 00 that ended the first."""
    return stuff(first)[:-1] + stuff(second)


def bad_payloads() -> list[tuple[str, str, bytes]]:
    """Case, broken rule, bytes on the wire: good frames whose payload does not fit."""
    cases = []
    for name, message in SPEC["messages"].items():
        payload = payload_of(name, filled(name, 0x01010101, "A", 3))
        if payload:
            cases.append((f"{name}: last byte missing", "payload too short", framed(message["type"], 1, payload[:-1])))
            cases.append((f"{name}: empty", "payload too short", framed(message["type"], 2, b"")))
        cases.append((f"{name}: one byte more", "payload too long", framed(message["type"], 3, payload + b"\0")))
    refused = bytes([1, 0, 2, 3, 4, 2, 0x41, 0xC4])
    cases.append(("REFUSED: reason not ASCII", "text not ASCII", framed(0x83, 4, refused)))
    cases.append(("SET_LINES: count 255", "payload too short", framed(2, 5, bytes([255, 3, 3]))))
    cases.append(("TRANSITIONS: 61 announced, 60 there", "payload too short", framed(0x86, 6, bytes(4) + b"\x3d" + bytes(240))))
    return [(case, rule, stuff(decoded)) for case, rule, decoded in cases]


def lines(objects: list[dict[str, Any]]) -> str:
    """One JSON object a line."""
    return "".join(json.dumps(value, separators=(", ", ": ")) + "\n" for value in objects)


def main() -> int:
    """Print {file name: content}."""
    bad = [{"case": c, "layer": "frame", "rule": r, "wire": w.hex()} for c, r, w in bad_frames()]
    bad += [{"case": c, "layer": "payload", "rule": r, "wire": w.hex()} for c, r, w in bad_payloads()]
    json.dump({"good.jsonl": lines(good_vectors()), "bad.jsonl": lines(bad)}, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
