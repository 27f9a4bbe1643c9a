"""Opens the terminal app, the other face. The faces never import each other: the app's room is named only here, as text."""

from __future__ import annotations

import importlib
import sys

from tailwise.cli import exits
from tailwise.words import commands as words

APP = "tailwise.tui.app"
KEYS = "tailwise.tui.keys"


def has_terminal() -> bool:
    """Whether the app can be shown."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def open_app(scenario: str | None = None, speed: float = 1.0) -> int:
    """The app on a practice scenario, or with its own choice of harness; FileProblems where there is no such scenario."""
    if not has_terminal():
        print(words.NO_TERMINAL, file=sys.stderr)
        return exits.CALL
    keys_error: type[Exception] = importlib.import_module(KEYS).KeysFileError
    try:
        return int(importlib.import_module(APP).run_app(scenario=scenario, speed=speed))
    except keys_error as error:
        print(error, file=sys.stderr)
        return exits.CALL
