"""Usual limits by the build of a keyboard, where a layout file gives none.

Film: printed silver 10-500 ohm in the loop, usually under 100; domes bounce up to 20 ms. Pads: carbon on rubber 0.2-2 kohm
when good, 5-10 kohm when worn. (Membrane switch makers' data sheets.) Switches: 16 measured parts bounced 1.6 ms on
average, 6.2 ms at most (J. Ganssle, A Guide to Debouncing, 2004), taken with room; their ohms are common practice.
"""

from __future__ import annotations

from tailwise.model.layout import KeyboardKind, Layout, Limits

USUAL = {
    KeyboardKind.FILM: Limits(good_ohm=100.0, most_ohm=500.0, bounce_ms=20.0),
    KeyboardKind.PADS: Limits(good_ohm=2_000.0, most_ohm=10_000.0, bounce_ms=20.0),
    KeyboardKind.SWITCHES: Limits(good_ohm=10.0, most_ohm=200.0, bounce_ms=10.0),
}


def limits_of(layout: Layout) -> Limits:
    """The file's own limits, else the usual ones of its build."""
    return layout.limits or USUAL[layout.kind]
