"""Sentences of the stages: rest check, press walk, flex watch, and the states of the live map."""

from __future__ import annotations

from collections.abc import Sequence

STAGES = {"rest": "rest check", "walk": "press walk", "flex": "flex watch", "verdict": "verdict"}
"""Stage -> its name."""

SYMBOLS = {
    "todo": "○",
    "asked": "»",
    "down": "▼",
    "seen": "●",
    "mute": "×",
    "skipped": "–",
    "doubt": "?",
    "stuck": "■",
    "moved": "↷",
    "drops": "≈",
    "unwired": " ",
}
"""State of a key -> its symbol; no two alike."""

STATE_WORDS = {
    "todo": "todo",
    "asked": "push",
    "down": "down",
    "seen": "seen",
    "mute": "mute",
    "skipped": "skip",
    "doubt": "blur",
    "stuck": "shut",
    "moved": "else",
    "drops": "gaps",
    "unwired": "none",
}
"""State of a key -> its word on the map, four letters, so that it fits the smallest key."""

STATE_MEANINGS = {
    "todo": "not tried yet",
    "asked": "the prompt names it: press it now",
    "down": "closed at this moment",
    "seen": "was pressed and answered",
    "mute": "asked for three times, never answered",
    "skipped": "skipped, counts as not tried",
    "doubt": "inside a closed rectangle: cannot be told apart",
    "stuck": "closed with nobody touching it",
    "moved": "another place answered when it was pressed",
    "drops": "answered, but opened while held",
    "unwired": "no line of the matrix reaches it",
}
"""State of a key -> what it means, for the help page."""

TRACE_SYMBOLS = ("·", "▄", "▁", "░", "X")
"""Cells of the strip chart: not watched, whole, open just now (drop or finger), link blind, opened and closed again."""

TRACE_LEGEND = "▄ whole  X opened and closed again  ▁ open  · no key held  ░ link blind"


def seconds(at_us: int) -> str:
    """Microseconds as seconds for people."""
    return f"{at_us / 1e6:.1f} s"


def keys_text(keys: Sequence[str], most: int = 8) -> str:
    """Key names in a row, cut where there are many."""
    shown = ", ".join(keys[:most])
    return shown if len(keys) <= most else f"{shown} and {len(keys) - most} more"


def rest_prompt(left_us: int) -> str:
    """While the rest check runs."""
    return f"Hands off the keyboard. {seconds(left_us)} more of the board's time."


REST_WAIT = "Hands off the keyboard. Waiting for the board to start scanning."


def rest_touched(keys: Sequence[str]) -> str:
    """A key moved during the rest check."""
    return f"Something closed during the rest check: {keys_text(keys)}. If that was a hand, take it off; else it is a finding."


def rest_joined(pairs: Sequence[tuple[str, str]]) -> str:
    """Lines joined with nothing pressed."""
    return "Joined with nothing pressed: " + keys_text([f"{one} and {other}" for one, other in pairs])


REST_CLEAN = "Nothing closed by itself so far."


def walk_prompt(legend: str, left: int) -> str:
    """The prompt of the press walk."""
    return f"Press  {legend}  once and let go.   {left} to go; any order will do."


def walk_prompt_by_name(legend: str, left: int) -> str:
    """The prompt while every press counts for the key asked for."""
    return f"Press exactly  {legend}  once.   {left} to go; each press counts as the key asked for."


def walk_again(legend: str, times: int, most: int) -> str:
    """A silent key asked for again."""
    return f"Press  {legend}  again, firmly: it stayed silent {times} of {most} times."


def walk_follow(legend: str) -> str:
    """The practice operator names the keys."""
    return f"The practice operator presses  {legend}."


def walk_watch(down: Sequence[str], seen: int, total: int) -> str:
    """The practice operator presses without naming the keys."""
    doing = f"presses {' and '.join(down)}" if down else "is at work"
    return f"The practice operator {doing}.   {seen} of {total} keys answered."


def walk_stray(asked: str, stray: str) -> str:
    """Another key answered than the one asked for."""
    return f"{stray} answered. Was your finger on {asked}? If you pressed {stray}, just go on."


def walk_hints_stray(asked: str) -> tuple[tuple[str, str], ...]:
    """The keys then."""
    return ("it_was", f"yes, it was {asked}"), *WALK_HINTS


def walk_doubt(legend: str) -> str:
    """The asked key lies inside a rectangle."""
    return f"{legend} cannot be told apart while other keys are down: let all go, then press it alone."


def walk_done(seen: int, total: int, rest: Sequence[tuple[str, Sequence[str]]]) -> str:
    """The walk has nothing left to ask for; rest: states and the keys in them."""
    parts = [f"The walk is over: {seen} of {total} keys answered"]
    parts += [f"{WALK_ENDS[state]}: {keys_text(keys)}" for state, keys in rest if keys]
    return "; ".join(parts) + "."


WALK_ENDS = {
    "mute": "silent",
    "skipped": "not tried",
    "doubt": "in doubt",
    "stuck": "closed by itself",
    "moved": "read elsewhere",
}
OVER = "This is the map as the run left it."
OVER_HINTS = (("verdict", "verdict"), ("another", "another keyboard"))

WALK_HINTS = (("nothing", "pressed, nothing happened"), ("skip", "skip"), ("again", "last one again"))
WALK_HINTS_BY_NAME = (*WALK_HINTS, ("it_was", "any order"))
WALK_DONE_HINTS = (("line", "watch a line"), ("verdict", "verdict"), ("again", "last one again"))
FOLLOW_HINTS = (("line", "watch a line"), ("verdict", "verdict so far"))
"""Name of a key binding and what its key does here; the screen puts the key itself in front."""


def note_nothing(key: str) -> str:
    """Text of the note that closes a silent press."""
    return f"pressed {key}, nothing happened"


def note_it_was(asked: str, stray: str) -> str:
    """Text of the note when the operator says which key it was."""
    return f"the key pressed was {asked}, {stray} answered"


LINK_DOWN = "LINK LOST"
