"""What the operator reads during a flex watch: what to do, what more there is to know, and which keys mean what."""

from __future__ import annotations

from collections.abc import Callable

from tailwise.observe.rates import Enough
from tailwise.procedure.flex import CONTROL_US, FlexWatch
from tailwise.procedure.flexstats import ALONE
from tailwise.words import flex as words

Said = tuple[str, str, tuple[tuple[str, str], ...]]
"""Text, more about it, hints."""


def flex_prompt(flex: FlexWatch | None, legend: Callable[[str], str], vouches: bool) -> Said:
    """What to do now."""
    if flex is None:
        return words.NO_LINE, "", words.DONE_HINTS
    if flex.done:
        return words.DONE, _found(flex, legend), words.DONE_HINTS
    holds = [legend(key) for key in flex.hold]
    title = _title(flex)
    if not vouches:
        return words.follow(title, holds, flex.step), _more(flex, legend), words.FOLLOW_HINTS
    hints = words.hints(flex.upcoming if flex.step is not None else words.ALONE)
    more = _more(flex, legend)
    if flex.step is None:
        return words.hold(title, holds, _has_routes(flex)), more, hints
    if flex.let_go:
        return words.let_go(title, holds), more, hints
    if flex.step == ALONE:
        tally = flex.tallies.get(ALONE)
        return words.alone(title, tally.watched_us if tally else 0, CONTROL_US), more, hints
    return words.step(title, flex.step) + _enough(flex), more, hints


def _title(flex: FlexWatch) -> str:
    if flex.split is not None:
        return words.apart(*(pair[0] for pair in flex.split.pairs))
    return flex.line or words.WHOLE


def _enough(flex: FlexWatch) -> str:
    """Whether the step may end."""
    tally = flex.tallies.get(flex.step or "")
    if tally is None:
        return ""
    match flex.enough:
        case Enough.MOVES:
            return words.enough_moves(tally.episodes)
        case Enough.QUIET:
            seen = tally.seen()
            return words.enough_quiet(seen.seconds, seen.bound if not seen.episodes else seen.limits[1])
    return ""


def _more(flex: FlexWatch, legend: Callable[[str], str]) -> str:
    parts = [_found(flex, legend)]
    if flex.step is not None and flex.shortest_us:
        parts.append(words.shortest(flex.shortest_us))
    if flex.together:
        parts.append(words.together(flex.together, flex.line or _title(flex)))
    short = flex.held_short
    if short:
        parts.append(words.nearer([legend(key) for key in short], legend(flex.hold[0])))
    if flex.hidden_zones:
        parts.append(words.hidden(flex.hidden_zones))
    return "; ".join(part for part in parts if part)


def _has_routes(flex: FlexWatch) -> bool:
    """Whether the layout says how far along a line its keys stand."""
    routes = flex.layout.routes or {}
    return flex.line in routes if flex.line else bool(routes)


def _found(flex: FlexWatch, legend: Callable[[str], str]) -> str:
    """Which key the watch of several accuses, and in which zone."""
    suspect = flex.suspect
    if suspect is None:
        return ""
    key, zone = suspect
    return words.suspect(legend(key), zone, flex.split is None)
