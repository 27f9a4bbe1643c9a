"""Text of the panels around the key map: stage ribbon, lines as their routes, strip chart, tallies, signs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.style import Style
from rich.text import Text

from tailwise.procedure.flex import FlexWatch
from tailwise.procedure.keystate import KeyState
from tailwise.procedure.order import along_route
from tailwise.procedure.procedure import Procedure, Stage
from tailwise.words import stages as words

SHOWN_SIGNS = ("todo", "asked", "down", "seen", "mute", "skipped", "doubt", "stuck", "moved", "drops")


def ribbon(stage: Stage) -> Text:
    """The stages as contacts of a tail: full where passed, marked where the run stands."""
    text = Text("━", no_wrap=True)
    passed = True
    for number, one in enumerate(Stage, start=1):
        here = one is stage
        pad = "◆" if here else ("●" if passed else "○")
        passed = passed and not here
        text.append(f"{pad} ")
        text.append(f"{number} {words.STAGES[one.value]}", Style(bold=here, reverse=here))
        text.append(" ━━━" if number < len(Stage) else " ━")
    return text


def lines_panel(procedure: Procedure, states: Mapping[str, str], styles: Mapping[str, Style], width: int) -> Text:
    """Every line as its route: its keys' signs from the tail outwards, several lines side by side."""
    layout = procedure.layout
    stem = max((len(line) for line in layout.lines), default=0)
    longest = max((len(layout.keys_on[line]) for line in layout.lines), default=0)
    dots = (width + 2) // (stem + 2 + longest + 2) >= 4
    cell = stem + 2 + (longest if dots else 7) + 2
    text = Text(no_wrap=True)
    for group in (layout.rows, layout.columns, layout.singles):
        for start in range(0, len(group), max(1, (width + 2) // cell)):
            if text.plain:
                text.append("\n")
            for line in group[start : start + max(1, (width + 2) // cell)]:
                text.append(f"{line.rjust(stem)} ╾", Style(bold=True))
                seen, total = procedure.line_progress(line)
                keys = along_route(layout, line)
                if dots:
                    for key in keys:
                        text.append(words.SYMBOLS[states[key]], styles[states[key]])
                    text.append(" " * (longest - len(keys) + 2))
                else:
                    text.append(f"{seen}/{total}".ljust(9))
    return text


def signs(width: int, states: Sequence[str] = SHOWN_SIGNS) -> Text:
    """Every sign with its word, as many rows as it takes."""
    text = Text(no_wrap=True)
    room = width
    for state in states:
        piece = f"{words.SYMBOLS[state]} {words.STATE_WORDS[state]}"
        if text.plain and room < len(piece):
            text.append("\n")
            room = width
        text.append(piece + "  ")
        room -= len(piece) + 2
    return text


def strip(flex: FlexWatch, width: int, styles: Sequence[Style]) -> Text:
    """The strip chart of the watched line, newest right, with what the signs mean below."""
    head = f"{flex.line} "
    text = Text(head, Style(bold=True), no_wrap=True)
    for trace in flex.strip.newest(max(0, width - len(head))):
        text.append(words.TRACE_SYMBOLS[trace], styles[trace])
    text.append("\n" + words.TRACE_LEGEND, Style(dim=True))
    return text


def tallies(flex: FlexWatch, width: int) -> Text:
    """What every step showed so far, and the last openings."""
    items = [
        words.flex_tally(step or words.ALONE, tally.watched_us, tally.episodes, tally.openings)
        for step, tally in flex.tallies.items()
    ]
    wide = max((len(item) for item in items), default=1) + 3
    across = max(1, width // wide)
    rows = ["".join(item.ljust(wide) for item in items[start : start + across]) for start in range(0, len(items), across)]
    last = [words.flex_opening(opening.at_us, opening.key, opening.step) for opening in flex.log[-2:]]
    return Text("\n".join([*rows, *last]), no_wrap=True)


def state_values(states: Mapping[str, KeyState]) -> dict[str, str]:
    """States as the plain words that the map and the catalogue use."""
    return {key: state.value for key, state in states.items()}
