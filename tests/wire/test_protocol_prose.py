"""The worked examples of PROTOCOL.md are true, and its prose leaves no message and no refusal out."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tailwise.wire.frames import decode_frame, encode
from tailwise.wire.messages import Refusal
from tests.wire.vectors import built, load, shown

PROSE = (Path(__file__).resolve().parents[2] / "firmware_spec" / "PROTOCOL.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```wire\n([A-Z_]+) (\d+) (\{.*\})\ndecoded: ([0-9A-F ]+)\nwire: +([0-9A-F ]+)\n```", PROSE)


def section(number: int) -> str:
    """The text of a numbered section."""
    (text,) = re.findall(rf"^## {number}\. .*?(?=^## |\Z)", PROSE, re.MULTILINE | re.DOTALL)
    return str(text)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: f"{example[0]} {example[1]}")
def test_a_worked_example_is_true(example: tuple[str, str, str, str, str]) -> None:
    name, number, fields, decoded, wire = example
    vector = {"message": name, "fields": json.loads(fields)}
    stuffed = bytes.fromhex(wire)
    assert encode(built(vector), int(number)) == stuffed
    frame = decode_frame(stuffed[:-1])
    message = frame.message()
    assert message is not None
    assert shown(message) == vector["fields"]
    again = bytes([len(frame.payload) + 6, frame.type]) + frame.number.to_bytes(2, "little") + frame.payload
    assert bytes.fromhex(decoded)[:-2] == again


def test_every_example_block_was_read() -> None:
    assert len(EXAMPLES) == PROSE.count("```wire") >= 15


def test_the_byte_by_byte_table_spells_the_first_example() -> None:
    rows = re.findall(
        r"^\| ([^|]*) \| [^|]+ \| ([0-9A-F ,a-z:COBS]+) \|$", section(2).split("### Worked example")[1], re.MULTILINE
    )
    on_the_wire = " ".join(re.findall(r"\b[0-9A-F]{2}\b", " ".join(wire for _, wire in rows)))
    decoded = " ".join(re.findall(r"\b[0-9A-F]{2}\b", " ".join(plain for plain, _ in rows)))
    assert (decoded, on_the_wire) == (EXAMPLES[0][3], EXAMPLES[0][4])


def test_every_refusal_has_its_cause_among_the_errors() -> None:
    for code in Refusal:
        assert f"`{code.name.lower()}`" in section(11)


def test_every_message_is_in_the_tables_and_in_the_order_of_a_run() -> None:
    for name in {vector["message"] for vector in load("good.jsonl")} - {None}:
        assert f"#### {name} (type " in section(5)
        assert name in section(6) or name in section(9) or name in section(19)


def test_the_contents_name_every_section() -> None:
    headings = re.findall(r"^## (\d+\. .+)$", PROSE, re.MULTILINE)
    contents = re.findall(r"^\d+\. \[(.+)\]\(#(.+)\)$", PROSE, re.MULTILINE)
    assert [heading.partition(". ")[2] for heading in headings] == [title for title, _ in contents]
    for heading, (_, anchor) in zip(headings, contents, strict=True):
        assert anchor == re.sub(r"[^a-z0-9 -]", "", heading.lower()).replace(" ", "-")
