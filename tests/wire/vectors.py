"""The committed vectors, for the tests of this room."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path
from typing import Any

from tailwise.wire.messages import MESSAGE_TYPES, Message, Openings
from tailwise.wire.payload import Opening, Transition

VECTORS = Path(__file__).resolve().parents[2] / "firmware_spec" / "vectors"


def load(name: str) -> list[dict[str, Any]]:
    """All vectors of good.jsonl or bad.jsonl."""
    return [json.loads(line) for line in (VECTORS / name).read_text(encoding="utf-8").splitlines()]


def shown(message: Message) -> dict[str, Any]:
    """A message's fields as the vectors write them."""
    fields: dict[str, Any] = {}
    for field in dataclasses.fields(message):
        value = getattr(message, field.name)
        if isinstance(value, bytes):
            value = value.hex()
        elif isinstance(value, tuple):
            value = [{name: int(part) for name, part in dataclasses.asdict(entry).items()} for entry in value]
        fields[field.name] = value
    return fields


def built(vector: dict[str, Any]) -> Message:
    """The message of a good vector, made from its fields."""
    kind: Any = {camel(cls.__name__): cls for cls in MESSAGE_TYPES.values()}[vector["message"]]
    values: dict[str, Any] = {}
    for name, value in vector["fields"].items():
        if isinstance(value, list):
            entries = Opening if kind is Openings else Transition
            value = tuple(
                entries(**{part: bool(number) if part == "closed" else number for part, number in e.items()}) for e in value
            )
        elif isinstance(value, str) and kind.__dataclass_fields__[name].type == "bytes":
            value = bytes.fromhex(value)
        values[name] = value
    message: Message = kind(**values)
    return message


def camel(name: str) -> str:
    """LineCheck -> LINE_CHECK."""
    return "".join(f"_{letter}" if letter.isupper() else letter for letter in name).strip("_").upper()
