"""Wirings kept with the harness: one small file for each board and layout, in the user's data folder.

A harness that is wired otherwise than plain, or takes a tail the other way round, is found out once (by pressing a few keys)
and used from then on for that board and that layout. A board without an identity of its own is kept as `unnamed`.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tailwise.harness.wiring import Wiring, WiringError, checked_wiring
from tailwise.layoutfile.own import data_folder
from tailwise.model.layout import Layout

FORMAT = "tailwise-wiring/1"
UNNAMED = "unnamed"


@dataclass(frozen=True)
class KeptWiring:
    """A wiring with its board (unique id in hex), its layout, how it was found (in words), and the file."""

    board: str
    layout: str
    how: str
    board_line: dict[str, int]
    path: Path
    kept: str = ""


def wirings_folder() -> Path:
    """Where kept wirings are; it need not be there."""
    return data_folder() / "wirings"


def _file(board_id: bytes, layout: str) -> Path:
    return wirings_folder() / f"{board_id.hex() or UNNAMED}.{layout}.json"


def keep_wiring(board_id: bytes, layout: str, wiring: Wiring, how: str) -> Path:
    """Keep the wiring in place of an earlier one; the file is replaced only when the new one is whole. OSError."""
    path = _file(board_id, layout)
    path.parent.mkdir(parents=True, exist_ok=True)
    value = {
        "format": FORMAT,
        "board": board_id.hex() or UNNAMED,
        "layout": layout,
        "how": how,
        "board_line": wiring.board_line,
        "kept": datetime.now(UTC).isoformat(timespec="seconds"),
    }
    part = path.with_name(path.name + ".part")
    part.write_text(json.dumps(value, indent=1) + "\n", encoding="utf-8")
    part.replace(path)
    return path


def kept_wiring(board_id: bytes, layout: Layout) -> tuple[Wiring, KeptWiring] | None:
    """The wiring kept for this board and layout, if any; WiringError names a file that cannot be used."""
    path = _file(board_id, layout.id)
    if not path.exists():
        return None
    kept = _read(path)
    try:
        return checked_wiring(layout, kept.board_line), kept
    except WiringError as error:
        raise WiringError(f"{path}: {error}") from error


def kept_wirings() -> list[KeptWiring]:
    """Every kept wiring that can be read, by file name."""
    found = []
    with suppress(OSError):
        for path in sorted(wirings_folder().glob("*.json")):
            with suppress(WiringError):
                found.append(_read(path))
    return found


def forget_wiring(kept: KeptWiring) -> None:
    """The harness counts as plainly wired for this layout again."""
    kept.path.unlink(missing_ok=True)


def _read(path: Path) -> KeptWiring:
    try:
        value: Any = json.loads(path.read_text(encoding="utf-8"))
        if not isinstance(value, dict) or value.get("format") != FORMAT:
            raise WiringError(f"{path}: format: expected {FORMAT}")
        lines = {str(line): int(number) for line, number in value["board_line"].items()}
        board, layout, how = (str(value[name]) for name in ("board", "layout", "how"))
        return KeptWiring(board, layout, how, lines, path, str(value.get("kept", "")))
    except (OSError, KeyError, TypeError, AttributeError, ValueError) as error:
        if isinstance(error, WiringError):
            raise
        raise WiringError(f"{path}: not a kept wiring ({error})") from error
