"""What the connection assistant says, on the command line and in the app."""

from __future__ import annotations

from collections.abc import Sequence

CONNECT = "find out how a known keyboard sits in the harness: press the few keys it asks for"
FORGET = "forget what was kept for this layout (for all layouts without --layout): the harness counts as plain again"
LIST = "list the wirings that are kept"
NEED_PORT = "name the board with --port URL and the keyboard with --layout ID (or use --list or --forget)"
BEGIN = "Press the key asked for. n: pressed, nothing happened; s: cannot press it; q: stop."
RESTING = "Hands off for two seconds: the lines are looked at with nothing pressed."
UNCERTAIN = "The readings had a gap in that moment; please press it again."
LINE_BY_LINE = "None of the known ways fits; going on line by line."
STOPPED = "Stopped before it was settled; nothing is kept."
ARBITRARY = "wired in no known way, learned line by line"
PLAIN = "Right: the harness is plain for this keyboard, nothing has to be kept."
PRACTICE_KEEPS_NOTHING = "On the practice bench nothing is kept: its board belongs to everybody."
NOTHING_KEPT = "no wiring is kept"
ON_THE_TITLE = "how is it plugged in?"
ASKED_BY_MARKS = "The practice operator presses keys by himself; watch how it is found out."
OWN_ORDER = "This operator presses in his own order; practice:reversed-tail and practice:shifted-tail answer."
HINT_KEYS = (("nothing", "nothing happened"), ("skip", "cannot press it"))
DONE_HINT = "Enter starts the test, o chooses anew"


def ask(key: str) -> str:
    """The next key."""
    return f"press  {key}"


def ask_for(key: str) -> str:
    """The next key, in the app."""
    return f"Press  {key}"


def asked_so_far(presses: int) -> str:
    """How many presses were made."""
    return f"{presses} {'press' if presses == 1 else 'presses'} so far; a few are enough"


def saw(key: str, lines: Sequence[str]) -> str:
    """What a press showed."""
    return f"{key}: {' and '.join(lines) if lines else 'nothing'}"


def joined(pairs: Sequence[tuple[int, int]]) -> str:
    """Closed with nothing pressed."""
    return "joined with nothing pressed: " + ", ".join(f"L{one} with L{other}" for one, other in pairs)


def found(how: str, presses: int) -> str:
    """The result."""
    return f"{how} (told by {presses} {'press' if presses == 1 else 'presses'})"


def unreached(lines: Sequence[str]) -> str:
    """A shifted tail leaves lines without a contact."""
    reach = "reaches" if len(lines) == 1 else "reach"
    return f"{', '.join(lines)} {reach} no contact of the harness: take the tail out and put it in straight, then ask again."


def open_lines(lines: Sequence[str]) -> str:
    """Lines nothing could be learned of."""
    return (
        f"{', '.join(lines)} could not be told: keys on them never answered. Nothing is kept; test the keyboard as it is or "
        "give a wiring file with --wiring."
    )


def turn_or_keep(how: str) -> str:
    """A reversed or swapped tail can stay as it is."""
    return f"You can leave it so ({how}), or put it in the other way and forget this."


def kept(path: str) -> str:
    """The wiring is kept."""
    return f"kept with the harness in {path}; every run with this board and layout uses it"


def forgotten(board: str, layout: str, how: str) -> str:
    """A kept wiring is gone."""
    return f"forgotten: {layout} on board {board} ({how})"


def kept_line(board: str, layout: str, how: str, when: str) -> str:
    """One kept wiring."""
    return f"{layout:<24} board {board:<24} {how}   {when}"


def placed_right() -> str:
    """The tails stand as they should."""
    return "right"


def placed_wrong(turns: Sequence[tuple[str, bool, int]], *, exchanged: bool) -> str:
    """What is wrong with how the tails stand: (tail, reversed, shifted by) of each that is turned."""
    said = ["tails swapped"] if exchanged else []
    for tail, reversed_, by in turns:
        if reversed_:
            said.append(f"tail {tail} reversed")
        else:
            contacts = f"{abs(by)} contact{'s' if abs(by) > 1 else ''}"
            said.append(f"tail {tail} shifted by {contacts} {'up' if by > 0 else 'down'}")
    return ", ".join(said)
