"""Where runs are recorded when nobody names a file: the user's data folder, one file a run, nothing ever overwritten."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from tailwise.layoutfile.own import data_folder

SUFFIX = ".twrec"


def recordings_folder() -> Path:
    """The folder of recordings inside the data folder; made where it is missing."""
    folder = data_folder() / "recordings"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def free_name(folder: Path, layout_id: str, now: datetime | None = None) -> Path:
    """A name in the folder that no file has: UTC time to the second, layout, and a number where that is not enough."""
    stamp = (now or datetime.now(UTC)).strftime("%Y%m%dT%H%M%SZ")
    stem = f"{stamp}-{re.sub(r'[^A-Za-z0-9._-]', '_', layout_id)}"
    for number in count(1):
        path = folder / f"{stem}{'' if number == 1 else f'-{number}'}{SUFFIX}"
        if not path.exists():
            return path
    raise AssertionError("count() ends never")
