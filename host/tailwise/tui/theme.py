"""Colours and weights: ink on film, copper for what is asked. Every state differs in sign and weight too, for NO_COLOR."""

from __future__ import annotations

from rich.style import Style
from textual.theme import Theme

INK = "#11171c"
FILM = "#1b242b"
SILVER = "#c9d1d6"
LEAD = "#75838d"
COPPER = "#d9905a"
PATINA = "#5fb7a0"
RUST = "#ea6a52"
AMBER = "#e2b64f"

THEME = Theme(
    name="tailwise",
    primary=COPPER,
    secondary=PATINA,
    accent=COPPER,
    foreground=SILVER,
    background=INK,
    surface=FILM,
    panel=FILM,
    success=PATINA,
    warning=AMBER,
    error=RUST,
    dark=True,
)

STATE_STYLES = {
    "todo": Style(color=LEAD, bgcolor=FILM),
    "asked": Style(color=INK, bgcolor=COPPER, bold=True, reverse=False),
    "down": Style(color=INK, bgcolor=SILVER, bold=True),
    "seen": Style(color=PATINA, bgcolor=FILM),
    "mute": Style(color=RUST, bgcolor=FILM, bold=True),
    "skipped": Style(color=LEAD, bgcolor=FILM, italic=True),
    "doubt": Style(color=AMBER, bgcolor=FILM),
    "stuck": Style(color=INK, bgcolor=RUST, bold=True),
    "moved": Style(color=AMBER, bgcolor=FILM, bold=True),
    "drops": Style(color=AMBER, bgcolor=FILM, bold=True, underline=True),
    "unwired": Style(color=LEAD, bgcolor=INK),
}
"""State -> style where there is colour."""

PLAIN_STYLES = {
    "todo": Style(dim=True),
    "asked": Style(bold=True, reverse=True),
    "down": Style(reverse=True),
    "seen": Style(),
    "mute": Style(bold=True),
    "skipped": Style(italic=True),
    "doubt": Style(underline=True),
    "stuck": Style(bold=True, reverse=True, underline=True),
    "moved": Style(bold=True, underline=True),
    "drops": Style(bold=True, underline=True),
    "unwired": Style(dim=True),
}
"""State -> style where there is none."""

TRACE_STYLES = (
    Style(color=LEAD),
    Style(color=PATINA),
    Style(color=RUST),
    Style(color=AMBER),
    Style(color=RUST, bold=True),
)
PLAIN_TRACES = (Style(dim=True), Style(), Style(), Style(dim=True), Style(bold=True))
