"""The user's own data folder, and the layouts in it."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs


def data_folder() -> Path:
    """TAILWISE_DATA, else the platform's place for a user's data (XDG base directory specification on Linux)."""
    named = os.environ.get("TAILWISE_DATA")
    return Path(named) if named else Path(platformdirs.user_data_dir("tailwise", appauthor=False))


def own_folder() -> Path:
    """Where the user's own layouts are; it need not be there."""
    return data_folder() / "layouts"


def own_ids() -> list[str]:
    """Ids of the user's own layouts (their file names without .yaml), sorted; empty where the folder cannot be listed."""
    try:
        return sorted(path.stem for path in own_folder().glob("*.yaml") if not path.name.endswith(".wiring.yaml"))
    except OSError:
        return []
