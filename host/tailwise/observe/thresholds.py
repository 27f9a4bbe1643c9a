"""The few durations that turn raw openings and closings into presses, bounce, dropouts and blindness, in microseconds.

All are measured with the board's clock. A board that scans slowly stretches those that could not hold otherwise:
`release_us(scan)`.
"""

from __future__ import annotations

REST_US = 2_000_000
"""The rest check: hands off for the first two seconds after the acknowledged start (this tool's own rule)."""

REST_BLIND_MAX_US = 500_000
"""More blindness than this inside the rest check, and it does not count as done (this tool's own rule)."""

HIDES_A_PRESS_US = 50_000
"""A blind stretch from this length on can hide a press: presses last 116 ms, sd 24 (Dhakal and others, CHI 2018)."""

BOUNCE_QUIET_US = 5_000
"""Closed for this long ends make bounce. Quiet gaps inside one bounce reach 0.5 ms (public-domain oscilloscope set,
gsuberland/switch_bouncing); makers state 5 ms of bounce nominal. Definitions: ASTM F1661-09."""

BOUNCE_SPAN_US = 20_000
"""An opening this soon after the first closure, or this late before the last opening, is bounce however quiet the contact
was between: polyester domes bounce up to 20 ms (makers' figures), switches up to 6.2 ms (Ganssle 2004)."""

RELEASE_US = 20_000
"""Open for this long ends a press: domes bounce up to 20 ms in all (makers' figures), so one opening as long is no bounce,
and a key pressed twice in haste leaves little more between (common practice). A longer opening of one contact alone looks
like a finger; several keys at once, or a mark that the key is held, tell more (`REUNITE_US`)."""

REUNITE_US = 2_000_000
"""Several keys of one line that open within a scan of each other and close again within a scan of each other, or one
key that a mark says is held: up to this length it is an opening inside one press (common practice)."""

BENT_US = 10_000_000
"""The same where marks or a watch say that all of those keys are held: a bend that opens a line is held for seconds (this
tool's own rule)."""

TOGETHER_US = 30_000
"""The crosspoints of one key that closes several close within this time of each other (common practice)."""

EARLY_MARK_US = 20_000
"""A press may begin this long before its own mark: clocks of host and board are matched only so well."""

DEFAULT_SCAN_US = 1_000
"""Scan period assumed until the board or the host has told it (common practice)."""


def settle_us(scan_us: int) -> int:
    """How long a reading must stand to count: one whole scan and a little for the clock's rounding."""
    return scan_us + scan_us // 8 + 20


def release_us(scan_us: int) -> int:
    """How long a contact must stay open to be released, seen through scans of this period."""
    return max(RELEASE_US, 3 * settle_us(scan_us))


FILM_ALONE_US = 3_000_000
"""Joined for longer with no other line: no line stays away as long while fingers wait for it (this tool's own rule)."""

FILM_RETURNS = 3
"""A line that comes back this often to the same two joined lines and no other was open over two held keys: the join is its
film (this tool's own rule; a person seldom presses one key that often with no other between)."""
