"""What observing and judging say to people."""

from __future__ import annotations

BLIND_FRAMES = "frames from the board were lost"
BLIND_LINK = "the link was lost"
BLIND_RESTART = "scanning was interrupted"
BLIND_WATCH = "single lines were watched meanwhile"
BLIND_DROPPED = "the board dropped transitions"
BLIND_CONTRADICTION = "the board's full state contradicts its transitions"
NEVER_SCANNED = (
    "no scan was recorded: there is no STATE after an acknowledged START; a recording needs the board's ACK of START "
    "(or the host's START) and the STATEs that follow"
)


def odd_state(length: int, driven: int) -> str:
    """A STATE whose length does not fit the lines driven."""
    return (
        f"a full state of {length} bytes does not fit {driven} driven lines: the recording's wiring or SET_LINES does not "
        "match the board; nothing in it was used"
    )


def wiring_refused(why: str) -> str:
    """The recording's wiring cannot be used."""
    return f"wiring: {why}"


def layout_refused(why: str) -> str:
    """The recording's layout cannot be used."""
    return f"layout: {why}"


def layout_unknown(name: str) -> str:
    """The header names a layout that is not shipped and carries no text of its own."""
    return f"layout: {name!r} is not a shipped layout, and layout_text is empty; store the layout file's text in layout_text"


def unknown_key(key: str) -> str:
    """A mark names a key the layout does not have."""
    return f"a mark names the key {key!r}, which the layout does not have; it counts as a note"


def doubt(kind: str, names: tuple[str, ...], count: int, of: int) -> str:
    """Why a run without findings is not sound."""
    who = " and ".join(names)
    if kind == "joined":
        return f"not explained: lines {who} read joined for a while; look at them at rest again, and press their keys again"
    if kind == "dropped":
        return f"not explained: {who} dropped out in {count} episodes; hold down what dropped out and flex the film"
    if kind == "hangs":
        return (
            f"not explained: {who} stayed closed while {count} other keys were pressed; look whether it hangs, and press again"
        )
    what = f"key {who}" if kind == "silent key" else f"keys of line {who}"
    return f"not explained: {what} stayed silent in {count} of {of} presses that were vouched for; press again, slowly"


def grade(name: str, rule: int, because: str, to_raise: str) -> str:
    """The grade, the rule of the rubric that gave it, and what would raise it."""
    return f"grade {name}, by rule {rule}: {because}. To raise it: {to_raise}"
