"""Sentences of the app's screens for keyboards nobody described: drawing, learning, routes, and where things are kept."""

from __future__ import annotations

from collections.abc import Sequence

AS_LEARNED = "as it was learned"
NOTHING_LEARNED = "Nothing was learned yet: no key has been seen, so there is no layout to save."

DRAW_TITLE = "draw it row by row; NAME:1.5 is a wide key, _:0.5 a gap"
SHAPES_TITLE = "or begin with"
NAME_TITLE = "name of this keyboard"
NAME_EMPTY = "maker and model, as you call it"
UNNAMED = "unknown keyboard"
DRAW_HINT = "tab moves on, enter in the list takes a shape, f5 begins to learn"


def lesson_choice(title: str, found: int, total: int) -> str:
    """A lesson to go on with."""
    return f"go on: {title or UNNAMED} ({found} of {total})"


def layout_shape(title: str) -> str:
    """A known layout as a shape."""
    return f"as {title}"


def drawn(keys: int) -> str:
    """The drawing can be read."""
    return f"{keys} keys drawn; names may be what is printed on them"


def not_drawn(problem: str) -> str:
    """The drawing cannot be read yet."""
    return f"cannot be read yet: {problem}"


LEARN_HEAD = "learning"
RESTING = "Hands off for two seconds."
RESTING_MORE = "The lines are looked at with nothing pressed."
ASK_MORE = "Whatever closes counts for this key. Nothing is settled for good: any key can be asked for again."
OWN_ORDER = "This operator presses in his own order and names no keys; practice:reversed-tail can be learned."
NAMED = "The practice operator works through his own list."
NAMED_MORE = "Each press counts for the key his mark names."
ALL_ASKED = "Every key of the drawing has been asked for."
ALL_ASKED_MORE = "Look through the map, ask again for what looks wrong, then save."
UNCERTAIN = "The readings had a gap in that moment: please press it again."
STOPPED = "The run has ended; what was learned is kept."
PICK_KEY = "Which key is to be asked for now? What it showed is forgotten."
PICK_HINT = "arrows choose, enter asks, escape leaves"

LEARN_HINTS = (("nothing", "nothing happened"), ("skip", "skip"), ("again", "take the last back"), ("key", "choose a key"))


def ask(key: str) -> str:
    """The next key."""
    return f"Press  {key}"


def progress(found: int, total: int) -> str:
    """How far the lesson is."""
    return f"{found} of {total} keys found"


def last(key: str, lines: Sequence[str]) -> str:
    """The last answer."""
    return f"{key} closed {' and '.join(lines)}" if lines else f"{key} closed nothing"


def joined(pairs: Sequence[tuple[int, int]]) -> str:
    """Closed with nothing pressed."""
    several = ", ".join(f"L{one} with L{other}" for one, other in pairs[:4])
    return f"Joined with nothing pressed (a short or a stuck key): {several}"


def key_choice(key: str, lines: Sequence[str]) -> str:
    """One key of the picker."""
    return f"{key}   {' and '.join(lines) if lines else 'nothing seen yet'}"


SAVE_TITLE = "what was learned"
SAVE_HINT = "f5 saves, f4 changes the build, escape goes back to learning"
SAVED_HINT = "f6 proposes routes, f7 tests it now, escape goes on learning"
KIND_WORDS = {"film": "printed film with tails", "pads": "carbon pads", "switches": "switches of their own"}


def kind_line(kind: str) -> str:
    """How the contacts are built."""
    return f"build: {KIND_WORDS[kind]}"


def id_line(layout_id: str) -> str:
    """The id it will have."""
    return f"id: {layout_id}"


def learned(found: int, total: int, rows: int, columns: int, singles: int, diodes: int) -> str:
    """The matrix in one sentence."""
    text = f"{found} of {total} keys found: {rows} rows and {columns} columns"
    text += f", {singles} single lines" if singles else ""
    return text + (f", {diodes} diodes" if diodes else "")


def saved(path: str) -> str:
    """The layout file is there."""
    return f"saved as {path}"


def wiring_kept(path: str) -> str:
    """The wiring is kept."""
    return f"the wiring is kept with the harness in {path}"


def can_merge(titles: Sequence[str]) -> str:
    """Other specimens of the same drawing are known."""
    return f"f8 fills what was not found from: {', '.join(titles)}"


def merged(title: str, filled: Sequence[str], disagreeing: Sequence[str]) -> str:
    """What the other specimen gave."""
    text = f"{len(filled)} {'key' if len(filled) == 1 else 'keys'} taken from {title}"
    return text + (f"; both disagree about {', '.join(disagreeing)}, left as seen here" if disagreeing else "")


SPECIMEN = "one specimen"
OPEN = "left open"
BACK_TO_LEARNING = "Learning goes on where it stopped."

ROUTES_TITLE = "routes: a proposal from the drawing, marked as assumed"
ROUTES_LINES = "line"
ROUTES_ORDER = "its keys, from the tail outwards"
ROUTES_HINT = "tab to the keys; u moves one towards the tail, d away; t moves the tail"
ROUTES_SAVED = "Routes are in the layout file, marked as assumed."


def tail_at(place: str) -> str:
    """Where the tail leaves."""
    return f"the tail leaves: {place}"


def line_choice(line: str, keys: int, corrected: bool) -> str:
    """One line of the list."""
    return f"{line}  {keys} {'key' if keys == 1 else 'keys'}{'  corrected' if corrected else ''}"
