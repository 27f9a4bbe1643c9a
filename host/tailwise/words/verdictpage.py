"""Sentences of the verdict page: kinds of fault in plain words, places, how sure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

KINDS = {
    "open_line": "A line is open: no key on it ever closes",
    "cracked_tail": "The tail is cracked: neighbouring lines are dead together",
    "broken_trace": "A trace is broken part of the way",
    "dead_contact": "One key never closes",
    "weak_contact": "One key closes, but with too much resistance for the computer",
    "weak_line": "A line has too much resistance for the computer",
    "bouncing_contact": "One key bounces too long",
    "short": "Two lines are joined",
    "leak": "Two lines leak into each other",
    "stuck_contact": "A key is closed with nobody pressing it",
    "intermittent_line": "A line comes and goes",
    "intermittent_contact": "One key comes and goes",
    "tail_misplaced": "A tail sits the wrong way round or shifted in its socket",
    "wrong_layout": "This is not the keyboard the layout describes",
    "diode_fault": "A diode is open, shorted or backwards",
    "foreign_voltage": "A voltage from outside holds a line",
    "harness_fault": "The harness itself fails",
}
"""Kind -> what it means on the bench."""

VERDICTS = {
    "sound": ("●", "SOUND", "every key was seen to close and nothing unexplained was read"),
    "faulty": ("×", "FAULTY", "something is wrong; read on"),
    "unproven": ("○", "UNPROVEN", "nothing wrong was found, but not all of it was tested"),
    "untestable": ("?", "UNTESTABLE", "no judgement is possible yet; read why"),
}
"""Verdict -> sign, word, meaning."""

SO_FAR = "The run goes on: this is the judgement so far."
FINAL = "The run has ended."
LABELS = {
    "where": "where",
    "keys": "keys",
    "why": "why",
    "rivals": "or else",
    "next": "next",
    "zone": "moved by",
    "sure": "sure",
}


def steadiness(value: str) -> str:
    """All the time, or now and then."""
    return "comes and goes" if value == "intermittent" else "there all the time"


def place(value: Mapping[str, Any] | None) -> str:
    """The stretch of a line in words."""
    if value is None:
        return ""
    line, after, before = value["line"], value["after"], value["before"]
    start = f"key {after}" if after else "the tail"
    if before:
        return f"on {line}, between {start} and key {before}"
    return f"on {line}, beyond {start}"


def distance(low_best_high: Sequence[float]) -> str:
    """How far along the trace."""
    low, best, high = low_best_high
    return f"about {best:.0f} mm from the tail ({low:.0f} to {high:.0f})"


def sure(probability: float) -> str:
    """How sure, in words and as a number."""
    if probability >= 0.95:
        word = "as good as certain"
    elif probability >= 0.8:
        word = "very likely"
    elif probability >= 0.5:
        word = "likely"
    else:
        word = "possible"
    return f"{word}, {percent(probability)}"


def names(lines: Sequence[str], keys: Sequence[str]) -> str:
    """What a finding is about."""
    if lines and len(lines) <= 4:
        return " and ".join([", ".join(lines[:-1]), lines[-1]] if len(lines) > 1 else lines)
    return ", ".join(lines) if lines else ", ".join(keys)


def rival(kind: str, about: str, probability: float) -> str:
    """One other explanation."""
    plain = KINDS.get(kind, kind)
    return f"{plain} ({about}), {percent(probability)}" if about else f"{plain}, {percent(probability)}"


def percent(probability: float) -> str:
    """A probability; never 0 or 100, which nobody can know."""
    if probability < 0.01:
        return "under 1 %"
    return f"{probability * 100:.0f} %" if probability < 0.995 else "over 99 %"


def coverage(tried: int, keys: int, presses: int, bound: float) -> str:
    """What was tested."""
    return (
        f"{tried} of {keys} keys tried, {presses} presses; a key could still miss up to {bound * 100:.0f} % of its presses "
        "without having shown it (95 % bound)"
    )


def untried(keys: Sequence[str], total: int) -> str:
    """Keys nobody tried."""
    return "no key was tried" if len(keys) == total else f"not tried: {', '.join(keys)}"


def link(frames: int, lost: int, bad: int, gaps: int) -> str:
    """What the link did."""
    return f"{frames} frames, {lost} lost, {bad} damaged, {gaps} gaps"


NO_FINDINGS = "No finding."


def graded(meaning: str, grade: str) -> str:
    """The verdict's meaning with its grade."""
    return f"{meaning[0].upper()}{meaning[1:]}. Grade: {grade}."
