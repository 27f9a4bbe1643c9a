"""Routes proposed from the drawing, corrected line by line."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.widgets import Footer, OptionList, Static
from textual.widgets.option_list import Option

from tailwise.learn.routes import RouteDraft
from tailwise.tui.bindings import ROUTE_KEYS
from tailwise.tui.mapview import MapView
from tailwise.tui.theme import PLAIN_STYLES, STATE_STYLES
from tailwise.words import learnscreens as words


class RouteScreen(Screen[RouteDraft | None]):
    """Gives the corrected draft, None where nothing is to be saved."""

    BINDINGS = ROUTE_KEYS

    def __init__(self, draft: RouteDraft, *, plain: bool) -> None:
        super().__init__()
        self.draft = draft
        self._plain = plain
        self._names = list(draft.orders)

    def compose(self) -> ComposeResult:
        """Lines at the left, the keys of one line beside them, the map below."""
        yield Static(Text.assemble(("tailwise", "bold reverse"), "  ", words.ROUTES_TITLE), id="title")
        yield Static(id="place")
        with Horizontal(id="routing"):
            with Vertical():
                yield Static(words.ROUTES_LINES, classes="title")
                yield OptionList(id="route-lines")
            with Vertical():
                yield Static(words.ROUTES_ORDER, classes="title")
                yield OptionList(id="order")
        yield MapView(self.draft.layout, PLAIN_STYLES if self._plain else STATE_STYLES, id="map")
        yield Static(words.ROUTES_HINT, id="how", classes="hint")
        yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        """The first line."""
        self._list_lines(0)
        self._list_keys(0)
        self.query_one("#route-lines", OptionList).focus()

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Another line shows its keys; another key is shown on the map."""
        if event.option_list.id == "route-lines":
            self._list_keys(0)
        else:
            self._show()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """From the line to its keys."""
        if event.option_list.id == "route-lines":
            self.query_one("#order", OptionList).focus()

    def action_nearer(self) -> None:
        """The key stands one place nearer to the tail."""
        self._move(-1)

    def action_farther(self) -> None:
        """The key stands one place farther from the tail."""
        self._move(1)

    def action_tail(self) -> None:
        """The tail leaves elsewhere."""
        self.draft.next_place()
        self._list_keys(0)

    def action_save(self) -> None:
        """Take the routes as they stand."""
        self.dismiss(self.draft)

    def action_back(self) -> None:
        """Leave the layout without routes."""
        self.dismiss(None)

    @property
    def line(self) -> str:
        """The line under the cursor."""
        return self._names[self.query_one("#route-lines", OptionList).highlighted or 0]

    def _move(self, by: int) -> None:
        at = self.query_one("#order", OptionList).highlighted or 0
        to = self.draft.move(self.line, at, by)
        self._list_lines(self._names.index(self.line))
        self._list_keys(to)

    def _list_lines(self, at: int) -> None:
        listed = self.query_one("#route-lines", OptionList)
        with self.prevent(OptionList.OptionHighlighted):
            listed.clear_options()
            for line in self._names:
                text = words.line_choice(line, len(self.draft.orders[line]), line in self.draft.corrected)
                listed.add_option(Option(Text(text)))
            listed.highlighted = at

    def _list_keys(self, at: int) -> None:
        listed = self.query_one("#order", OptionList)
        with self.prevent(OptionList.OptionHighlighted):
            listed.clear_options()
            listed.add_options(Option(Text(f"{n:>2}  {key}")) for n, key in enumerate(self.draft.orders[self.line], start=1))
            listed.highlighted = at
        self._show()

    def _show(self) -> None:
        order = self.draft.orders[self.line]
        at = self.query_one("#order", OptionList).highlighted or 0
        states = {key.id: "seen" if key.id in order else "todo" for key in self.draft.layout.keys}
        states[order[at]] = "asked"
        self.query_one("#map", MapView).show(states, order[at], order)
        self.query_one("#place", Static).update(words.tail_at(self.draft.place))
