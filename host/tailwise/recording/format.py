"""The records of tailwise-recording/1: one JSON object a line, the first is the header."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from tailwise.model.mark import Deed, Mark

FORMAT = "tailwise-recording/1"


class RecordingError(ValueError):
    """A recording that cannot be used: file, line and what was expected."""

    def __init__(self, file: str, line: int, text: str) -> None:
        super().__init__(f"{file}:{line}: {text}")
        self.file = file
        self.line = line


@dataclass(frozen=True, slots=True)
class Header:
    """What the run was about; layout_text is the whole layout file, wiring maps layout line to board line."""

    layout: str
    layout_text: str
    label: str = ""
    every_key_pressed: bool = False
    wiring: dict[str, int] | None = None
    tool: str = ""
    created: str = ""


class LinkEvent(StrEnum):
    """What became of the link."""

    LOST = "lost"
    REOPENED = "reopened"
    RESTARTED = "restarted"


@dataclass(frozen=True, slots=True)
class Received:
    """Bytes from the board; t_us: host microseconds since the link was opened."""

    t_us: int
    data: bytes


@dataclass(frozen=True, slots=True)
class Sent:
    """Bytes to the board."""

    t_us: int
    data: bytes


@dataclass(frozen=True, slots=True)
class Marked:
    """A mark of the operator; its own time is the board's."""

    t_us: int
    mark: Mark


@dataclass(frozen=True, slots=True)
class Linked:
    """The link was lost, reopened, or the board restarted behind it."""

    t_us: int
    event: LinkEvent
    why: str = ""


@dataclass(frozen=True, slots=True)
class Changed:
    """A header field stated later (label, every_key_pressed)."""

    t_us: int
    label: str | None = None
    every_key_pressed: bool | None = None


@dataclass(frozen=True, slots=True)
class Ended:
    """The run's end with the link counters as the host had them."""

    t_us: int
    counters: dict[str, int] = field(default_factory=dict)


Record = Received | Sent | Marked | Linked | Changed | Ended


@dataclass(frozen=True)
class Recording:
    """A recording as read. damage: a sentence for the tear and for every damaged line; empty for a whole file."""

    header: Header
    records: tuple[Record, ...]
    damage: tuple[str, ...] = ()
    ended: bool = False


def mark_to_json(mark: Mark) -> dict[str, Any]:
    """A mark as in marks files: `at` in seconds."""
    out: dict[str, Any] = {"at": mark.at_us / 1e6, "do": mark.do.value}
    for name in ("key", "zone", "tail", "text"):
        value = getattr(mark, name)
        if value is not None:
            out[name] = value
    return out


def mark_from_json(value: object) -> Mark:
    """A mark from its JSON object; ValueError says what is wrong with it."""
    if not isinstance(value, dict):
        raise ValueError("a mark must be an object")
    unknown = sorted(set(map(str, value)) - {"at", "do", "key", "zone", "tail", "text"})
    if unknown:
        raise ValueError(f"mark has unknown names {', '.join(unknown)}")
    at = value.get("at")
    if isinstance(at, bool) or not isinstance(at, int | float) or not 0 <= at < 1e7:
        raise ValueError(f"mark.at must be seconds from 0, not {at!r}")
    try:
        deed = Deed(str(value.get("do")))
    except ValueError:
        raise ValueError(f"mark.do must be one of {', '.join(Deed)}, not {value.get('do')!r}") from None
    texts: dict[str, str | None] = {}
    for name in ("key", "zone", "tail", "text"):
        text = value.get(name)
        if text is not None and not isinstance(text, str):
            raise ValueError(f"mark.{name} must be a text, not {text!r}")
        texts[name] = text
    return Mark(round(at * 1e6), deed, **texts)
