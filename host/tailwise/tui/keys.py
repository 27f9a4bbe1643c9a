"""Keys of the app: every binding has a name, and a file of the user may give it other keys."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path

from tailwise.words import app as words


class KeysFileError(ValueError):
    """The keys file cannot be used; the text names file, entry and what was expected."""


def keys_file() -> Path:
    """Where the user's keys are: keys.toml in the configuration folder of the XDG base directory rules."""
    base = os.environ.get("XDG_CONFIG_HOME", "")
    folder = Path(base) if base else Path.home() / ".config"
    return folder / "tailwise" / "keys.toml"


def read_keys(path: Path) -> dict[str, str]:
    """Binding name -> keys, comma separated; empty where there is no file. KeysFileError where it cannot be used."""
    try:
        raw = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError) as error:
        raise KeysFileError(words.keys_unreadable(str(path), str(error))) from error
    try:
        table = tomllib.loads(raw)
    except tomllib.TOMLDecodeError as error:
        raise KeysFileError(words.keys_unreadable(str(path), str(error))) from error
    for name, keys in table.items():
        if name not in words.KEY_NAMES:
            raise KeysFileError(words.keys_unknown(str(path), name, sorted(words.KEY_NAMES)))
        if not isinstance(keys, str) or not keys.strip():
            raise KeysFileError(words.keys_not_text(str(path), name))
    return dict(table)
