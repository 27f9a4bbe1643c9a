"""Sentences of the app around the stages: choosing, cautions, link, help."""

from __future__ import annotations

TAGLINE = "what is broken, where, and how sure"

WHERE_TITLE = "harness"
NO_HARNESS = "No serial port is there. Plug the harness in and look again, or practise:"
PORTS_HEAD = "serial ports (none is opened before you start)"
PRACTICE_HEAD = "practice bench (a virtual board, membrane and operator)"
LAYOUT_TITLE = "keyboard layout"
LAYOUT_SEARCH = "search: name, id, keys, or a file"
LAYOUT_NONE = "No layout matches. Shorten the search, or let f3 learn it."
LABEL_TITLE = "label of this keyboard, as on its tag"
LABEL_EMPTY = "may stay empty"
CONNECT_HINT = "enter starts; f3 learns an unknown keyboard, f4 shows the lines without layout"
READING = "reading layouts and scenarios, a moment"
CHOOSE_PORT = "Choose a harness or a practice scenario first."
CHOOSE_LAYOUT = "Choose a layout first."

CAUTIONS_TITLE = "Before you connect anything"
CAUTIONS = (
    "Keyboard off the computer, computer unplugged from the mains. Never test on a powered board.",
    "Old film is brittle: pull straight at the socket, no angled tug; bend radius 2.5 mm or more, never at the connector edge.",
    "Isopropyl alcohol is flammable and attacks some plastics: air the room, no flame, try a hidden spot.",
    "Never solder on film. Let conductive paint cure, then test for shorts.",
    "Discharge yourself before you touch contacts: static kills port chips.",
    "Mains inside power supplies: leave to those qualified and follow local rules.",
)
CAUTIONS_HINT = "enter: understood, go on    escape: back"

HELP_TITLE = "keys and signs"
HELP_SIGNS = "Signs of the key map"
HELP_KEYS = "Keys"
HELP_CLOSE = "escape closes"

SOUND = {"tones": "sound on", "bell": "bell only", "off": "sound off"}

PICK_LINE = "Which line is to be watched?"
PICK_HINT = "arrows choose, enter watches, escape leaves"


def line_choice(line: str, seen: int, total: int, drops: int) -> str:
    """One line of the picker."""
    opened = f", opened {drops} times while held" if drops else ""
    return f"{line}   {seen} of {total} keys answered{opened}"


def layout_choice(layout: str, title: str, keys: int, own: bool = False) -> str:
    """One layout of the connect screen."""
    return f"{'yours: ' if own else ''}{title}, {keys} keys  ({layout})"


def connecting(url: str) -> str:
    """The port is open, nobody answered yet."""
    return f"asking the board on {url} who it is"


def connected(board: str, firmware: str) -> str:
    """The board said who it is."""
    return f"{board}, firmware {firmware}"


def with_wiring(board: str, how: str) -> str:
    """The board, and how the harness is taken for this layout."""
    return f"{board}, wired: {how} (kept)"


STARTING = "starting"


def link_lost(why: str, next_step: str) -> str:
    """The link broke in the middle; the next step comes from the run."""
    return f"LINK LOST: {why}. Nothing is lost that was read. Next: {next_step}"


def link_back(url: str) -> str:
    """The port is there again."""
    return f"link is back on {url}; starting again"


def board_restarted(why: str) -> str:
    """The board restarted."""
    return f"the board restarted ({why}); configured and started again"


def started(again: bool) -> str:
    """Scanning runs."""
    return "scanning again; the gap is marked" if again else "scanning"


def refused(reason: str, likely: str, next_step: str) -> str:
    """The run cannot go on."""
    return f"{reason}. Likely: {likely}. Next: {next_step}"


def failed(kind: str, text: str) -> str:
    """A fault of the program or of the disk in the middle of a run."""
    what = f"The run stopped with an error: {text or kind} ({kind})."
    return f"{what} What was recorded is kept. You can test another keyboard or leave."


def held(lines: tuple[str, ...]) -> str:
    """Lines held from outside before anything was driven."""
    return f"Voltage from outside on {', '.join(lines)}: nothing is driven. Take the keyboard off the computer."


JUDGING = "Judging what is recorded so far ..."
STOPPING = "Ending the run and judging it ..."
STILL_RUNNING = "A run is going on. End it on the verdict page, or hit the same key again to end it and leave."

KEY_NAMES = {
    "help": "help",
    "leave": "leave",
    "nothing": "nothing happened",
    "skip": "skip this key",
    "again": "ask the last one again",
    "it_was": "it was the asked key",
    "next": "next step",
    "alone": "leave alone",
    "reseated": "reseated",
    "line": "watch a line",
    "walk": "press walk",
    "flex": "flex watch",
    "verdict": "verdict",
    "mute": "sound",
    "end": "end the run",
    "another": "another keyboard",
    "back": "back",
    "ports": "ports",
    "start": "start",
    "learn": "learn",
    "raw": "raw",
    "connection": "seating",
    "ledger": "ledger",
    "keep": "save",
    "next_one": "next",
    "page": "report",
    "same_insertion": "count insertions otherwise",
    "key": "choose a key",
    "learned": "end and save",
    "test": "test it",
    "afresh": "begin afresh",
    "save": "save",
    "kind": "build",
    "forget": "forget what is kept",
    "merge": "merge",
    "routes": "routes",
    "nearer": "towards the tail",
    "farther": "away from the tail",
    "tail": "move the tail",
    "mark": "mark a run",
    "compare": "compare two",
}
"""Name of a binding -> what its key does."""


def keys_unreadable(path: str, why: str) -> str:
    """The keys file cannot be read."""
    return f"{path}: cannot be read as TOML: {why}"


def keys_unknown(path: str, name: str, known: list[str]) -> str:
    """A binding of that name does not exist."""
    return f"{path}: {name}: no key has this name; known are {', '.join(known)}"


def keys_not_text(path: str, name: str) -> str:
    """The value is not a text."""
    return f'{path}: {name}: expected keys as a text, for example {name} = "f6,x"'


def help_remap(path: str) -> str:
    """How to change keys."""
    return f'Keys can be changed: {path} with lines like nothing = "f6" (the names stand in brackets above).'


STOPPED = "stopped"
ENDED = "the run has ended"
REST_FIRST = "The rest check comes first: two seconds of the board's time, hands off."


def recorded(path: str) -> str:
    """Where the run is kept."""
    return f"\nrecorded in {path}"


def not_offered(problems: tuple[str, ...]) -> str:
    """Layouts or scenarios with problems."""
    more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
    return f"Cannot be offered: {problems[0]}{more}"
