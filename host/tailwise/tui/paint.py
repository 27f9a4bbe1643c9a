"""Text of the panels around the key map: stage ribbon, lines as their routes, strip chart, tallies, signs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.style import Style
from rich.text import Text

from tailwise.model.layout import Layout
from tailwise.procedure.flex import FlexWatch
from tailwise.procedure.keystate import KeyState
from tailwise.procedure.order import along_route
from tailwise.procedure.procedure import Procedure, Stage
from tailwise.words import flex as flex_words
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


def lines_panel(
    procedure: Procedure, states: Mapping[str, str], styles: Mapping[str, Style], width: int, roomy: bool = False
) -> Text:
    """Every line as its route: its keys' signs from the tail outwards, several lines side by side.

    roomy: with the legends of the keys where two fit side by side. Where even signs are too many, numbers.
    """
    layout = procedure.layout
    if roomy:
        long = {line: _route(procedure, line, states, styles, legends=True) for line in layout.lines}
        if 2 * (max(len(text) for text in long.values()) + 2) <= width + 2:
            return _side_by_side(layout, long, width)
    short = {line: _route(procedure, line, states, styles, legends=False) for line in layout.lines}
    if (width + 2) // (max(len(text) for text in short.values()) + 2) >= 4:
        return _side_by_side(layout, short, width)
    return _side_by_side(layout, {line: _numbers(procedure, line) for line in layout.lines}, width)


def _route(procedure: Procedure, line: str, states: Mapping[str, str], styles: Mapping[str, Style], *, legends: bool) -> Text:
    text = Text(f"{line} ╾", Style(bold=True))
    for key in along_route(procedure.layout, line):
        sign = words.SYMBOLS[states[key]]
        text.append(f" {procedure.legend(key)}{sign}" if legends else sign, styles[states[key]])
    return text


def _numbers(procedure: Procedure, line: str) -> Text:
    seen, total = procedure.line_progress(line)
    return Text(f"{line} ╾{seen}/{total}")


def _side_by_side(layout: Layout, texts: Mapping[str, Text], width: int) -> Text:
    """Texts of lines in columns of one width; rows, columns and singles each begin a row of the panel."""
    cell = max(len(text) for text in texts.values()) + 2
    across = max(1, (width + 2) // cell)
    rows = []
    for group in (layout.rows, layout.columns, layout.singles):
        for start in range(0, len(group), across):
            row = Text(no_wrap=True)
            for line in group[start : start + across]:
                row.append_text(texts[line])
                row.append(" " * (cell - len(texts[line])))
            row.rstrip()
            rows.append(row)
    return Text("\n", no_wrap=True).join(rows)


def signs(width: int, states: Sequence[str] = SHOWN_SIGNS) -> Text:
    """Every sign with its word, as many rows as it takes."""
    rows: list[str] = [""]
    for state in states:
        piece = f"{words.SYMBOLS[state]} {words.STATE_WORDS[state]}"
        longer = f"{rows[-1]}  {piece}" if rows[-1] else piece
        if len(longer) <= width:
            rows[-1] = longer
        else:
            rows.append(piece)
    return Text("\n".join(rows), no_wrap=True)


def strip(flex: FlexWatch, width: int, styles: Sequence[Style]) -> Text:
    """The strip chart of the watched line, newest right, with what the signs mean below."""
    head = f"{flex.line or flex_words.WHOLE} "
    text = Text(head, Style(bold=True), no_wrap=True)
    for trace in flex.strip.newest(max(0, width - len(head))):
        text.append(words.TRACE_SYMBOLS[trace], styles[trace])
    text.append("\n" + words.TRACE_LEGEND, Style(dim=True))
    return text


def tallies(flex: FlexWatch, width: int) -> Text:
    """What every step showed so far, and the last openings."""
    items = [
        flex_words.tally(step or flex_words.ALONE, tally.watched_us, tally.episodes, tally.blind_us)
        for step, tally in flex.tallies.items()
    ]
    wide = max((len(item) for item in items), default=1) + 3
    across = max(1, width // wide)
    rows = ["".join(item.ljust(wide) for item in items[start : start + across]) for start in range(0, len(items), across)]
    last = [flex_words.opening(one.at_us, one.key, one.step, one.length_us) for one in flex.log[-2:]]
    return Text("\n".join([*rows, *last]), no_wrap=True)


def state_values(states: Mapping[str, KeyState]) -> dict[str, str]:
    """States as the plain words that the map and the catalogue use."""
    return {key: state.value for key, state in states.items()}
