"""What can be watched: every line, the hold-down set, and the row and column of a suspect key apart."""

from __future__ import annotations

from tailwise.procedure.holdset import hold_set
from tailwise.procedure.procedure import APART, WHOLE, Procedure
from tailwise.words import app as words
from tailwise.words import flex as flex_words


def watch_choices(procedure: Procedure) -> tuple[list[tuple[str, str]], str | None]:
    """Choices and what is known of each, and the one that is likely wanted."""
    layout = procedure.layout
    choices = [
        (line, words.line_choice(line, *procedure.line_progress(line), procedure.line_drops(line)))
        for line in layout.lines
        if layout.keys_on[line]
    ]
    choices.append((WHOLE, flex_words.whole_choice(len(hold_set(layout).keys))))
    suspect = procedure.suspect_key
    if suspect is None:
        return choices, procedure.likely_line()
    choices.append((APART + suspect, flex_words.apart_choice(procedure.legend(suspect))))
    return choices, APART + suspect
