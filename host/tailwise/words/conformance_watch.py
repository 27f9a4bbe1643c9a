"""What `prove` says of watching without pause."""

from __future__ import annotations

NO_WATCH = "the board does not announce watch_line"
NO_WATCH_RUN = "no watch could be started"
NO_OPENING = "no watched pair opened and closed; let somebody press a key again and again while the board is proved"
NO_PAIR = "no pair of lines was taken, with either pull-up"
ONE_PAIR_ONLY = "only one line can be sensed, so that there is no second pair"
WATCH_STOPPED = "no WATCHED came any more"
GOES_ON = "refused, and the watch went on"


def pairs_taken(one: tuple[int, ...], two: tuple[int, ...], pull_up: str) -> str:
    """Pairs that SET_WATCH took."""
    return f"pull-up {pull_up}; one pair {_pairs(one)}; two pairs {_pairs(two)}"


def watched_so_far(openings: int, watched: int, seconds: float) -> str:
    """What the watches brought."""
    return f"{watched} WATCHED and {openings} openings in {seconds:.1f} s"


def strange_report(kind: str, while_doing: str) -> str:
    """A report of the other mode."""
    return f"{kind} {while_doing}"


def state_while_watching(state: int) -> str:
    """What HEARTBEAT said in a watch."""
    return f"HEARTBEAT with run_state {state} while watching"


def watched_apart(longest_us: int) -> str:
    """The longest stretch without WATCHED."""
    return f"{longest_us / 1000:.1f} ms at most"


def watches_seen(count: int) -> str:
    """How many watches a rule looked at."""
    return f"{count} watches looked at"


def went_back(field: str, before: int, after: int) -> str:
    """A count of WATCHED that shrank or did not start at 0."""
    return f"{field} {after} after {before}"


def more_than_time(field: str, counted: int, elapsed: int) -> str:
    """More clock ticks than went by."""
    return f"{field} {counted} in {elapsed} clock ticks"


def odd_opening(what: str, pair: int, start: int, length: int) -> str:
    """An entry that cannot be."""
    return f"{what}: pair {pair}, start {start}, length {length}"


def entry_count(count: int) -> str:
    """An OPENINGS too short or too long."""
    return f"OPENINGS with {count} entries"


def openings_seen(count: int) -> str:
    """How many openings a rule looked at."""
    return f"{count} openings looked at"


def uncounted(pair: int, listed: int, counted: int) -> str:
    """Openings that WATCHED does not count."""
    return f"pair {pair}: OPENINGS had {listed}, the WATCHED after it counts {counted}"


def unlisted(counted: int, listed: int, dropped: int) -> str:
    """Openings counted that came in no OPENINGS and are not in `dropped`."""
    return f"{counted} counted, {listed} listed, {dropped} dropped"


def lengths_differ(pair: int, counted: int, listed: int) -> str:
    """Total lengths that do not agree."""
    return f"pair {pair}: {counted} clock ticks in WATCHED, {listed} in OPENINGS"


def opening_held(oldest_us: int) -> str:
    """The oldest opening behind a later clock."""
    return f"sent up to {max(0, oldest_us) / 1000:.1f} ms after its end"


def _pairs(lines: tuple[int, ...]) -> str:
    return ", ".join(f"{sensed} against {driven}" for sensed, driven in zip(lines[::2], lines[1::2], strict=True)) or "none"
