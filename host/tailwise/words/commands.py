"""Sentences of the command line: help, the story on standard error, the readable verdict."""

from __future__ import annotations

PROGRAM = "tests keyboard matrices and membranes: what is broken, where, and how sure"
EPILOG = (
    "exit codes: 0 sound, 1 faulty, 2 the call or a file is wrong, 3 unproven, 4 untestable. "
    "The keyboard must be off its computer before it goes into the harness."
)
TRY = "the app on the built-in practice bench; no hardware needed"
TRY_SCENARIO = "a scenario; `tailwise practice --list` shows them"
SPEED = "so many times as fast as life"
PORTS = "list serial ports, open none"
TEST = "one run without the app"
JUDGE = "derive the findings again from a recording"
LAYOUTS = "list layouts, or show one"
LAYOUTS_CHECK = "check a layout file"
EXPORT = "waveforms and tables for other tools"
PROVE = "check a board's firmware against the protocol, rule by rule"
PRACTICE = "the practice bench: list scenarios, or serve one to other hosts"
PORT = "device (/dev/ttyACM0, COM3), any pyserial URL, practice:SCENARIO or replay:RECORDING"
LAYOUT = "layout id or a layout file: what is plugged in, as far as you know"
LABEL = "what to call this keyboard"
RECORD = "write the run to this new file"
MARKS = "what the operator does and when (YAML); replaces the marks of a practice scenario"
EVERY_KEY = "state that every key is pressed at least once"
SECONDS = "end the run after so many seconds of scanning"
WIRING = "which line sits on which line of the board (YAML), for a harness wired otherwise than plain"
JSON = "print the result as JSON"
RECORDING = "a recording"
VCD = "write a value change dump (IEEE 1364) to this file"
CSV = "write transitions and presses as a table to this file"
SERVE = "offer the scenario as a pseudo-terminal and print its path"
LIST = "list the scenarios"

VERDICTS = {
    "sound": ("+", "SOUND", "every key was seen closing and nothing unexplained was read"),
    "faulty": ("x", "FAULTY", "something is wrong with the keyboard"),
    "unproven": ("?", "UNPROVEN", "nothing wrong was found, but not all of it was tested"),
    "untestable": ("!", "UNTESTABLE", "no verdict is possible from this run"),
}
"""Verdict -> symbol, word, sentence."""

NO_PORTS = "no serial ports found. Plug the harness in; on Linux `dmesg` names the port the system gave it."
TRIAL = "no terminal to open the app in: the practice run without it"
NO_TERMINAL = "the app needs a terminal; `tailwise test --help` shows how to run without one"
NOTHING_TO_EXPORT = "export: name --vcd FILE, --csv FILE or both"
NEED_SCENARIO = "practice: name a scenario and --serve, or use --list; `tailwise try SCENARIO` opens it in the app"
SERVING = "serving; every connection starts the scenario anew; Ctrl-C ends it"
REPORT = "one self-contained page with pictures about a recording"
REPORT_FILE = "the page to write (.html)"
HOW_TO_END = "press the keys now; Ctrl-C ends the run and judges it"
INTERRUPTED = "interrupted: ending the run and judging what there is"


def overwrite(path: str) -> str:
    """A file that is there already."""
    return f"{path}: there is a file already, and nothing recorded is ever overwritten; name another file"


def same_file(path: str) -> str:
    """An export onto its own recording."""
    return f"{path}: this is the recording itself; name another file to write"


def unreadable(path: str, said: str) -> str:
    """A file the system does not give."""
    return f"{path}: {said}"


def usage_positive(value: str) -> str:
    """A number out of range."""
    return f"expected a number above 0, not {value!r}"


def connecting(url: str) -> str:
    """Story."""
    return f"connecting to {url}"


def connected(board: str, firmware: str, lines: int, checked: int) -> str:
    """Story."""
    return f"board {board}, firmware {firmware}, {lines} lines, {checked} of them checked for foreign voltage"


def wiring_kept(how: str) -> str:
    """A kept wiring is used."""
    return f"the harness is taken as it was found before: {how} (tailwise connect --forget goes back to plain)"


def lines_checked(held: int, not_checked: int) -> str:
    """Story."""
    if held:
        return f"{held} line{'s' if held > 1 else ''} held from outside: nothing is driven"
    more = f"; {not_checked} could not be checked" if not_checked else ""
    return f"no line is held from outside{more}"


def progress(seconds: float, seen: int, keys: int) -> str:
    """Story."""
    return f"{seconds:6.1f} s   {seen} of {keys} keys seen"


def started(again: bool, seconds: float) -> str:
    """Story."""
    return f"scanning again at {seconds:.1f} s" if again else "scanning; the first 2 s are the rest check, hands off"


def link_down(why: str, step: str) -> str:
    """Story."""
    return f"link lost: {why}. {step}"


def link_up(url: str) -> str:
    """Story."""
    return f"link is back on {url}"


def restarted(why: str) -> str:
    """Story."""
    return f"{why}; configuring it again"


def refused(reason: str, likely: str, step: str) -> str:
    """Story."""
    return f"{reason}\n  likely cause: {likely}\n  next step: {step}"


def recorded(path: str) -> str:
    """Story."""
    return f"recorded in {path}"


def damage(path: str, text: str) -> str:
    """Story: what is wrong with a recording that was judged all the same."""
    return f"{path}: {text}"


def headline(symbol: str, word: str, grade: str, layout: str, label: str) -> str:
    """First line of the readable verdict."""
    parts = [f"{symbol} {word}", f"grade {grade}" if grade else "", f"layout {layout}", label]
    return "   ".join(part for part in parts if part)


def finding_line(number: int, kind: str, lines: list[str], keys: list[str], steadiness: str, percent: int) -> str:
    """One finding."""
    what = ", ".join(lines) if lines else ", ".join(keys)
    return f"{number}. {kind.replace('_', ' ')} {what}, {steadiness}, {percent} % sure"


def finding_keys(keys: list[str]) -> str:
    """The keys a line fault takes with it."""
    return f"keys: {' '.join(keys)}"


def place(line: str, after: str | None, before: str | None) -> str:
    """Where on a route."""
    start = "the tail" if after is None else f"key {after}"
    return f"place: on {line}, beyond {start}" + ("" if before is None else f", before key {before}")


def distance(low: float, best: float, high: float) -> str:
    """How far from the tail."""
    return f"distance from the tail: about {best:.0f} mm ({low:.0f} to {high:.0f})"


def zone(name: str) -> str:
    """A flex zone that moves it."""
    return f"moves when {name} is flexed"


def rival(kind: str, names: list[str], percent: int) -> str:
    """What else it could be."""
    return f"or else: {kind.replace('_', ' ')} {', '.join(names)} ({percent} %)"


def next_step(text: str) -> str:
    """What to do."""
    return f"next step: {text}"


def coverage(tried: int, keys: int, presses: int, bound: float) -> str:
    """What was tested."""
    limit = (
        f"; at 95 % confidence no tested contact fails more than {bound:.0%} of its presses"
        if bound < 1
        else "; press every key once, several times for a closer bound"
    )
    return f"tested {tried} of {keys} keys, {presses} presses read{limit}"


def untried(keys: list[str]) -> str:
    """What was not."""
    return f"not seen closing: {' '.join(keys)}"


def link_counts(frames: int, lost: int, bad: int, gaps: int) -> str:
    """How the link did."""
    return f"link: {frames} frames, {lost} missing in {gaps} gap{'' if gaps == 1 else 's'}, {bad} damaged"


OWN_LAYOUT = "   (your own)"


def layout_line(ident: str, title: str, keys: int, rows: int, columns: int) -> str:
    """One layout in the list."""
    return f"{ident:<20} {keys:>3} keys, {rows} rows x {columns} columns   {title}"


def scenario_line(name: str, layout: str, story: str) -> str:
    """One practice scenario in the list."""
    return f"{name:<26} {layout:<10} {' '.join(story.split())}"


def tail_line(name: str, contacts: list[str]) -> str:
    """A tail's contacts in order."""
    return f"tail {name}: {' '.join(contacts)}"


def zones_line(names: list[str]) -> str:
    """A layout's flex zones."""
    return f"zones: {', '.join(names)}"


def layout_fine(path: str, keys: int, lines: int) -> str:
    """layouts check found nothing."""
    return f"{path}: fine, {keys} keys on {lines} lines"
