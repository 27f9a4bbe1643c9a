"""The key map on the screen: redraws the keys that changed and nothing else."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from tailwise.model.layout import Layout
from tailwise.tui.keymap import KeyMap, Piece, draw
from tailwise.words import stages as words


class MapView(Widget):
    """A view of the key map; `show` says what it is to show."""

    DEFAULT_CSS = "MapView { height: 1fr; width: 1fr; }"

    def __init__(self, layout: Layout, styles: Mapping[str, Style], id: str | None = None) -> None:
        super().__init__(id=id)
        self._layout_shown = layout
        self._state_styles = styles
        self._states: Mapping[str, str] = {key.id: "todo" for key in layout.keys}
        self._focus_key: str | None = None
        self._marked: Collection[str] = ()
        self._rows: dict[int, dict[int, Piece]] = {}
        self.map = KeyMap(())
        self.redrawn = 0

    def show(self, states: Mapping[str, str], focus: str | None = None, marked: Collection[str] = ()) -> None:
        """Show these states; only keys whose cells change are drawn again."""
        self._states, self._focus_key, self._marked = states, focus, marked
        self._draw()

    def show_layout(self, layout: Layout) -> None:
        """Show another layout, nothing tried on it yet."""
        self._layout_shown = layout
        self.show({key.id: "todo" for key in layout.keys})

    def on_resize(self, event: events.Resize) -> None:
        """Fit the map into the new size."""
        self._draw()

    def render_line(self, y: int) -> Strip:
        """One line of cells."""
        base = self.rich_style
        segments: list[Segment] = []
        at = 0
        for x, piece in sorted(self._rows.get(y, {}).items()):
            if x > at:
                segments.append(Segment(" " * (x - at), base))
            segments.append(Segment(piece.text, base + self._state_styles[piece.state]))
            at = x + cell_len(piece.text)
        return Strip(segments).adjust_cell_length(self.size.width, base)

    def _draw(self) -> None:
        old = {(piece.x, piece.y): piece for piece in self.map.pieces}
        size = (self.size.width, self.size.height)
        self.map = draw(self._layout_shown, self._states, words.SYMBOLS, words.STATE_WORDS, size, self._focus_key, self._marked)
        new = {(piece.x, piece.y): piece for piece in self.map.pieces}
        self._rows = {}
        for piece in self.map.pieces:
            self._rows.setdefault(piece.y, {})[piece.x] = piece
        changed = [
            piece
            for place in old.keys() | new.keys()
            if old.get(place) != new.get(place)
            for piece in (old.get(place), new.get(place))
            if piece is not None
        ]
        if changed:
            self.redrawn += len(changed)
            self.refresh(*{Region(piece.x, piece.y, cell_len(piece.text), 1) for piece in changed})
