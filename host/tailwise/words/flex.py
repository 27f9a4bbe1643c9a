"""Sentences of the flex watch."""

from __future__ import annotations

from collections.abc import Sequence

ALONE = "left alone"
WHOLE = "every line"
NO_LINE = "Choose the line to watch."
DONE = "The watch is over. Watch another line, or go to the verdict."
DONE_HINTS = (("line", "another line"), ("walk", "press walk"), ("verdict", "verdict"))
FOLLOW_HINTS = (("line", "watch a line"), ("verdict", "verdict so far"))


def hold(what: str, keys: Sequence[str], farthest: bool) -> str:
    """Before the first step: which keys to hold; farthest: they stand where the route ends."""
    held = " and ".join(keys) if 0 < len(keys) <= 2 else ", ".join(keys) if keys else "any key on it"
    why = ", farthest along the route" if farthest else ""
    return f"Watching {what}. Hold down {held}{why} (padded clips free your hands), then step on."


def step(what: str, zone: str) -> str:
    """A zone is being flexed."""
    return f"Watching {what}. Move the film at: {zone}. Gently, bends no tighter than 2.5 mm."


def alone(what: str, watched_us: int, wanted_us: int) -> str:
    """The control."""
    done = "long enough" if watched_us >= wanted_us else f"{wanted_us // 1_000_000} s are best"
    return f"Watching {what}. Leave everything alone: {watched_us // 1_000_000} s so far, {done}."


def let_go(what: str, keys: Sequence[str]) -> str:
    """No held key is closed."""
    return f"{what} is not watched: no key on it is closed. Hold {' and '.join(keys)}, or the line is open."


def follow(what: str, keys: Sequence[str], doing_now: str | None) -> str:
    """The practice operator flexes."""
    held = " and ".join(keys)
    if doing_now is None:
        return f"Watching {what}. The practice operator takes hold of {held}."
    doing = f"bends the film at: {doing_now}" if doing_now else "leaves the film alone"
    return f"Watching {what}. The practice operator holds {held} and {doing}."


def apart(row: str, column: str) -> str:
    """A row and a column watched through two keys of their own."""
    return f"{row} and {column} apart"


def enough_moves(episodes: int) -> str:
    """The sequential test has said so."""
    return f" Enough: it moves here ({episodes} episodes)."


def enough_quiet(seconds: float, bound: float) -> str:
    """Nothing much in this zone: a bound, not soundness."""
    return f" Enough: after {seconds:.0f} s at most {bound:.2g} a second (95 %)."


def shortest(shortest_us: float) -> str:
    """What cannot be missed in this mode."""
    length = f"{shortest_us:.1f} us" if shortest_us < 1000 else f"{shortest_us / 1000:.2f} ms"
    return f"no opening of {length} or longer is missed"


def together(count: int, what: str) -> str:
    """Both witnesses opened at one instant."""
    return f"both keys opened at one instant {count} times: {what}, not a contact and not a finger"


def nearer(keys: Sequence[str], farthest: str) -> str:
    """Other keys are held than the farthest."""
    return f"held: {' and '.join(keys)}; beyond that nothing is watched, {farthest} reaches farther"


def suspect(key: str, zone: str, more: bool) -> str:
    """What the watch of several keys says."""
    found = f"{key} drops out at: {zone}"
    return f"{found}. Watch its row and column apart next (watch a line)" if more else found


def hints(upcoming: str | None) -> tuple[tuple[str, str], ...]:
    """Keys of the flex watch."""
    onward = f"next: {upcoming}" if upcoming else "end the watch"
    return ("next", onward), ("alone", "leave alone"), ("reseated", "reseated"), ("line", "other line")


def hidden(zones: Sequence[str]) -> str:
    """Zones out of reach."""
    return f"out of reach as assembled: {', '.join(zones)}"


def tally(name: str, watched_us: int, episodes: int, blind_us: int) -> str:
    """One step of the tally."""
    text = f"{name}: {watched_us // 1_000_000} s, {episodes} {'episode' if episodes == 1 else 'episodes'}"
    return f"{text}, {blind_us / 1e6:.0f} s blind" if blind_us >= 500_000 else text


def opening(at_us: int, key: str, name: str, length_us: int | None) -> str:
    """One line of the log of openings."""
    return f"{at_us / 1e6:.1f} s {key} opened{_lasting(length_us)} ({name or ALONE})"


def _lasting(length_us: int | None) -> str:
    if length_us is None:
        return ""
    return f" for {length_us} us" if length_us < 1000 else f" for {length_us / 1000:.3g} ms"


def whole_choice(keys: int) -> str:
    """The whole keyboard in the list of lines."""
    return f"every line at once, through {keys} held keys"


def apart_choice(key: str) -> str:
    """Row and column of a suspect key in the list of lines."""
    return f"row and column of {key} apart"
