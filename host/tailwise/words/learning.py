"""What `tailwise layouts learn` says."""

from __future__ import annotations

LEARN = "learn an unknown keyboard: press the keys it asks for, get a layout file"
DRAW = "a text file with the keyboard drawn by rows: names, NAME:1.5 for a wide key, _:0.5 for a gap"
SHAPE = "begin with a common shape, or with a known layout's id to draw it like that one"
LESSON = "file that keeps the lesson, to stop and go on later"
OUT = "layout file to write (default: one of your own layouts, found by its id from then on, and the wiring kept)"
IDENT = "the layout's id (default: made of the title for one of your own, else `learned`)"
TITLE = "the layout's title"
KIND = "how the contacts are built"
LINES = "board lines to watch (default: all the board has)"
SPECIMEN = "which keyboard this is, for the file's sources"
MERGE = "a layout learned from another specimen, whose keys fill what this one did not show"
NO_DRAWING = "draw the keyboard with --draw FILE, take a shape with --shape NAME, or go on with --lesson FILE"
RESTING = "Hands off for two seconds: the lines are looked at with nothing pressed."
BEGIN = "Press the key asked for. n: pressed, nothing happened; s: skip it; u: take the last one back; q: stop for now."
JOINED = "joined with nothing pressed (a short or a stuck key):"
DONE = "Everything drawn has been asked for."
STOPPED = "Stopped; what was learned is kept."
NOTHING = "Nothing was learned: no key has been seen."
UNCERTAIN = "The readings had a gap in that moment; please press it again."


def ask(key: str, left: int) -> str:
    """The next key."""
    return f"press  {key}   ({left} to go)"


def saw(key: str, lines: list[str]) -> str:
    """What a press showed."""
    return f"{key}: {' and '.join(lines) if lines else 'nothing'}"


def taken_back(key: str) -> str:
    """A mistake corrected."""
    return f"{key} is forgotten and will be asked for again"


def written(path: str, found: int, keys: int) -> str:
    """The layout file is there."""
    return f"{path}: {found} of {keys} keys found"


def merged(filled: int, disagreeing: list[str]) -> str:
    """What the other specimen gave."""
    text = f"{filled} keys taken from the other specimen"
    return text + (f"; both disagree about {', '.join(disagreeing)}: left as this specimen showed them" if disagreeing else "")


def wiring_written(path: str) -> str:
    """The wiring file is there."""
    return f"{path}: which board line is which, for --wiring"
