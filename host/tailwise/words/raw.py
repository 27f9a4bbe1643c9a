"""Sentences and signs of the raw view: a keyboard nobody described."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

HEAD = "no layout: every line against every line"
NOW, STUCK, FLICKERS, EVER, NEVER, SELF = "●", "■", "≈", "○", "·", "╲"
LEGEND = (
    (NOW, "closed now"),
    (EVER, "was closed"),
    (FLICKERS, "flickers"),
    (STUCK, "closed since the rest"),
    (NEVER, "never"),
)
SIDES = "driven down, sensed across"
RESTING = "Hands off for two seconds: the lines are looked at with nothing pressed."
PRESS = "Press any key, hold it, flex the tail: whatever closes and opens shows here."
OVER = "The run has ended."
NO_STUCK = "Nothing is joined at rest."
NO_FLICKER = "Nothing flickers."


def _pair_text(pair: tuple[int, int]) -> str:
    return f"L{pair[0]}-L{pair[1]}"


def closed_now(pairs: Sequence[tuple[int, int]]) -> str:
    """Pairs closed now."""
    more = f" and {len(pairs) - 6} more" if len(pairs) > 6 else ""
    return f"Closed now: {', '.join(_pair_text(pair) for pair in pairs[:6])}{more}"


def stuck(pairs: Sequence[tuple[int, int]]) -> str:
    """Joined since the rest."""
    more = f" and {len(pairs) - 6} more" if len(pairs) > 6 else ""
    return f"Joined at rest (short or stuck key): {', '.join(_pair_text(pair) for pair in pairs[:6])}{more}"


def flickering(lines: Mapping[int, int]) -> str:
    """Lines with openings no finger makes, most first."""
    shown = [f"L{line} {openings}x" for line, openings in list(lines.items())[:6]]
    return f"Flickers (back within 50 ms): {', '.join(shown)}"


def never(lines: Sequence[int]) -> str:
    """Lines without any contact so far, as runs."""
    if not lines:
        return "Every line has closed with another."
    runs: list[list[int]] = []
    for line in lines:
        if runs and line == runs[-1][-1] + 1:
            runs[-1].append(line)
        else:
            runs.append([line])
    shown = [f"L{run[0]}" if len(run) == 1 else f"L{run[0]}-L{run[-1]}" for run in runs]
    return f"Never closed: {', '.join(shown)}."


def recorded(path: str) -> str:
    """Where the run is kept."""
    return f"recorded in {path}"
