"""Opens the terminal app, the other face. The faces never import each other: the app's room is named only here, as text."""

from __future__ import annotations

import importlib
import sys

from tailwise.cli import exits
from tailwise.words import commands as words

APP = "tailwise.tui.app"


def open_app(url: str | None) -> int:
    """The app, on a practice scenario or another URL, or with its own choice of harness."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        print(words.NO_TERMINAL, file=sys.stderr)
        return exits.CALL
    return int(importlib.import_module(APP).run_app(url))
