"""Drawing an unknown keyboard by rows, with the key map as a live preview; common shapes, known layouts, begun lessons."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.widgets import Footer, Input, OptionList, Static, TextArea
from textual.widgets.option_list import Option

from tailwise.learn.drawing import SHAPES, DrawingError, draw, drawn_layout, rows_of
from tailwise.learn.lesson import Lesson
from tailwise.model.layout import Layout
from tailwise.tui.bindings import DRAW_KEYS
from tailwise.tui.mapview import MapView
from tailwise.tui.theme import PLAIN_STYLES, STATE_STYLES
from tailwise.words import learnscreens as words

Begun = tuple[Lesson, Path | None]
"""A lesson and the file it was begun in, None for a new one."""


class DrawScreen(Screen[Begun | None]):
    """Gives the lesson to begin or go on with."""

    BINDINGS = DRAW_KEYS

    def __init__(
        self,
        lessons: Callable[[], Sequence[tuple[Path, Lesson]]],
        layouts: Sequence[Layout],
        first: Layout | None,
        *,
        plain: bool,
    ) -> None:
        """layouts: known ones as shapes; first: the one that stands there at first, if any."""
        super().__init__()
        self._lessons = list(lessons())
        self._layouts = list(layouts)
        self._first = first
        self._plain = plain
        self._going_on: Begun | None = None

    def compose(self) -> ComposeResult:
        """The drawing and the shapes above, the preview below."""
        yield Static(Text.assemble(("tailwise", "bold reverse"), "  ", words.DRAW_TITLE), id="title")
        with Horizontal(id="drawing"):
            yield TextArea(self._rows_at_first(), id="rows", tab_behavior="focus", soft_wrap=False, show_line_numbers=False)
            with Vertical(id="shapes-side"):
                yield Static(words.SHAPES_TITLE, classes="title")
                yield OptionList(*self._options(), id="shapes")
        yield Static(id="drawn")
        yield MapView(drawn_layout(()), PLAIN_STYLES if self._plain else STATE_STYLES, id="map")
        yield Static(words.NAME_TITLE, classes="title")
        yield Input(placeholder=words.NAME_EMPTY, id="name", compact=True)
        yield Static(words.DRAW_HINT, id="how", classes="hint")
        yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        """The drawing takes what is typed."""
        self._preview()
        self.query_one("#rows", TextArea).focus()

    def on_text_area_changed(self, event: TextArea.Changed) -> None:
        """The preview follows."""
        self._preview()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Take a shape, or a lesson to go on with."""
        kind, _, number = (event.option.id or "").partition(":")
        rows: Sequence[str]
        if kind == "lesson":
            path, lesson = self._lessons[int(number)]
            self.query_one("#name", Input).value = lesson.title
            rows = lesson.rows
            self._going_on = lesson, path
        elif kind == "shape":
            rows = list(SHAPES.values())[int(number)]
        else:
            rows = rows_of(self._layouts[int(number)])
        self.query_one("#rows", TextArea).text = "\n".join(rows)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """From the name to the lesson."""
        self.action_start()

    def action_start(self) -> None:
        """Begin, or go on with a lesson whose drawing was left as it was."""
        rows = self._rows()
        title = self.query_one("#name", Input).value.strip()
        going_on = self._going_on
        if going_on is not None and going_on[0].rows == tuple(rows):
            going_on[0].title = title or going_on[0].title
            self.dismiss(going_on)
            return
        try:
            lesson = Lesson.begin(rows, title or words.UNNAMED)
        except DrawingError as error:
            self.notify(words.not_drawn(str(error)), severity="warning", markup=False)
        else:
            self.dismiss((lesson, None))

    def action_back(self) -> None:
        """Back to the choice."""
        self.dismiss(None)

    def _rows_at_first(self) -> str:
        rows = rows_of(self._first) if self._first is not None else next(iter(SHAPES.values()))
        return "\n".join(rows)

    def _options(self) -> list[Option]:
        found = [
            Option(_row(words.lesson_choice(lesson.title, len(lesson.learner.found()), len(lesson.drawn))), id=f"lesson:{at}")
            for at, (_, lesson) in enumerate(self._lessons)
        ]
        found += [Option(_row(name), id=f"shape:{at}") for at, name in enumerate(SHAPES)]
        return found + [Option(_row(words.layout_shape(one.title)), id=f"layout:{at}") for at, one in enumerate(self._layouts)]

    def _rows(self) -> list[str]:
        return [row for row in self.query_one("#rows", TextArea).text.splitlines() if row.strip()]

    def _preview(self) -> None:
        said = self.query_one("#drawn", Static)
        try:
            keys = draw(self._rows())
        except DrawingError as error:
            said.update(Text(words.not_drawn(str(error))))
            said.set_class(True, "warning")
        else:
            said.update(Text(words.drawn(len(keys))))
            said.set_class(False, "warning")
            self.query_one("#map", MapView).show_layout(drawn_layout(keys))


def _row(text: str) -> Text:
    return Text(text, no_wrap=True, overflow="ellipsis")
