"""The first screen: which harness (or the practice bench), which layout, which label."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import StrEnum

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Footer, Input, OptionList, Static
from textual.widgets.option_list import Option

from tailwise.harness.wiring import Wiring
from tailwise.layoutfile.nodes import FileProblems
from tailwise.link.ports import PortInfo
from tailwise.model.layout import Layout
from tailwise.practice.catalogue import DEFAULT_SCENARIO
from tailwise.tui.bindings import CONNECT_KEYS
from tailwise.tui.choices import (
    PRACTICE,
    Offers,
    Place,
    layout_file,
    matching,
    named_places,
    out_of_date,
    port_places,
    practice_at,
)
from tailwise.words import app as words


class Door(StrEnum):
    """What can be done with a board besides a test."""

    LEARN = "learn"
    RAW = "raw"
    CONNECTION = "connection"


class Chosen(Message):
    """Everything is chosen: start."""

    def __init__(self, place: Place, layout: Layout, label: str, wiring: Wiring | None = None) -> None:
        """wiring: as it was found out just now; None takes the one that is kept, else a plain harness."""
        super().__init__()
        self.place = place
        self.layout = layout
        self.label = label
        self.wiring = wiring


class Wanted(Message):
    """Something other than a test is wanted with this board."""

    def __init__(self, door: Door, place: Place, layout: Layout | None, label: str, layouts: Sequence[Layout]) -> None:
        """layout: under the cursor, None where it does not matter; layouts: all known ones, as shapes to draw from."""
        super().__init__()
        self.door = door
        self.place = place
        self.layout = layout
        self.label = label
        self.layouts = layouts


class Offered(Message):
    """Layouts and scenarios are read."""

    def __init__(self, offers: Offers) -> None:
        super().__init__()
        self.offers = offers


class ConnectScreen(Screen[None]):
    """Choose harness, layout and label; nothing is opened before the start."""

    BINDINGS = CONNECT_KEYS

    def __init__(
        self,
        ports: Callable[[], Sequence[PortInfo]],
        read: Callable[[], Offers],
        layout: Layout | None = None,
        label: str = "",
    ) -> None:
        """read: reads layouts and scenarios, in a thread. layout, label: what stands there first."""
        super().__init__()
        self._ports = ports
        self._read_offers = read
        self._own = layout
        self._wanted = layout.id if layout is not None else ""
        self._label = label
        self._shown: list[Layout] = []
        self.offers: Offers | None = None
        self.places: list[Place] = []

    def compose(self) -> ComposeResult:
        """Harness on the left, layout and label on the right."""
        yield Static(Text.assemble(("tailwise", "bold reverse"), "  ", words.TAGLINE), id="title")
        with Horizontal(id="choices"):
            with Vertical(id="where"):
                yield Static(words.WHERE_TITLE, classes="title")
                yield Static("", id="no-harness", classes="warning")
                yield OptionList(id="places")
                yield Static("", id="story")
            with Vertical(id="what"):
                yield Static(words.LAYOUT_TITLE, classes="title")
                yield Input(placeholder=words.LAYOUT_SEARCH, id="search", compact=True)
                yield OptionList(id="layouts")
                yield Static(words.LABEL_TITLE, classes="title")
                yield Input(self._label, placeholder=words.LABEL_EMPTY, id="label", compact=True)
        yield Static(words.CONNECT_HINT, id="how", classes="hint")
        yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        """Look for ports; read layouts and scenarios in a thread meanwhile."""
        self._list_layouts("")
        self.action_ports()
        self.query_one("#places", OptionList).focus()
        self.run_worker(self._read, name="offers", thread=True)

    def on_screen_resume(self) -> None:
        """A keyboard learned meanwhile is offered."""
        if self.offers is not None and out_of_date(self.offers):
            self.run_worker(self._read, name="offers", thread=True)

    def _read(self) -> None:
        self.post_message(Offered(self._read_offers()))

    def on_offered(self, message: Offered) -> None:
        """Show what was read."""
        self.offers = message.offers
        self.action_ports()
        self._list_layouts(self.query_one("#search", Input).value)
        if message.offers.problems:
            self.notify(words.not_offered(message.offers.problems), severity="warning", markup=False)

    def action_ports(self) -> None:
        """Look for ports again."""
        ports, practice = port_places(self._ports), list(self.offers.practice if self.offers else named_places())
        listed = self.query_one("#places", OptionList)
        before = self._place()
        self.places = ports + practice
        note = self.query_one("#no-harness", Static)
        note.update(words.NO_HARNESS)
        note.display = not ports
        listed.clear_options()
        if ports:
            listed.add_option(Option(Text(words.PORTS_HEAD, "bold"), disabled=True))
            listed.add_options(Option(_row(f"{port.url}  {port.about}"), id=port.url) for port in ports)
        listed.add_option(Option(Text(words.PRACTICE_HEAD, "bold"), disabled=True))
        listed.add_options(Option(_row(place.url), id=place.url) for place in practice)
        urls = [option.id for option in listed.options]
        kept = before.url if before is not None else None
        if kept is not None and kept in urls:
            listed.highlighted = urls.index(kept)
        elif self.places:
            listed.highlighted = urls.index(self._first(ports).url)

    def _first(self, ports: Sequence[Place]) -> Place:
        usual = PRACTICE + DEFAULT_SCENARIO
        return ports[0] if ports else next((place for place in self.places if place.url == usual), self.places[0])

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        """Show what the place is; a scenario brings its own layout."""
        if event.option_list.id != "places":
            return
        place = self._place()
        self.query_one("#story", Static).update(Text(place.about if place else ""))
        if place is not None and place.layout is not None:
            self._highlight(place.layout)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """A practice place is complete; with a harness the layout comes next; a layout starts."""
        place = self._place()
        if event.option_list.id == "places" and place is not None and not place.practice:
            self.query_one("#search", Input).focus()
        else:
            self.action_start()

    def on_input_changed(self, event: Input.Changed) -> None:
        """Search while typing."""
        if event.input.id == "search":
            self._list_layouts(event.value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """From the search to the list, from the label to the start."""
        if event.input.id == "search":
            self.query_one("#layouts", OptionList).focus()
        else:
            self.action_start()

    def action_start(self) -> None:
        """Start with what is chosen, or say what is missing."""
        place, layout = self._place(), self._layout_chosen()
        if place is None:
            self.notify(words.CHOOSE_PORT, severity="warning")
        elif place.practice and place.layout is None:
            self._start_early(place)
        elif layout is None:
            self.notify(words.CHOOSE_LAYOUT, severity="warning")
        else:
            self.post_message(Chosen(place, layout, self.query_one("#label", Input).value.strip()))

    def action_learn(self) -> None:
        """Learn a keyboard nobody described."""
        self._want(Door.LEARN)

    def action_raw(self) -> None:
        """Look at the lines without any layout."""
        self._want(Door.RAW)

    def action_connection(self) -> None:
        """Find out how a known keyboard sits."""
        self._want(Door.CONNECTION)

    def _want(self, door: Door) -> None:
        place, layout = self._place(), self._layout_chosen()
        if place is None:
            self.notify(words.CHOOSE_PORT, severity="warning")
            return
        if place.practice and place.layout is None:
            try:
                place, layout = practice_at(place.url)
            except FileProblems as error:
                self.notify(str(error), severity="error", markup=False)
                return
        if door is Door.CONNECTION and layout is None:
            self.notify(words.CHOOSE_LAYOUT, severity="warning")
            return
        known = self.offers.layouts if self.offers is not None else ()
        self.post_message(Wanted(door, place, layout, self.query_one("#label", Input).value.strip(), known))

    def _start_early(self, place: Place) -> None:
        """A scenario was chosen before all of them were read."""
        try:
            found, layout = practice_at(place.url)
        except FileProblems as error:
            self.notify(str(error), severity="error", markup=False)
        else:
            self.post_message(Chosen(found, layout, self.query_one("#label", Input).value.strip()))

    def _place(self) -> Place | None:
        listed = self.query_one("#places", OptionList)
        if listed.highlighted is None or listed.highlighted >= listed.option_count:
            return None
        url = listed.get_option_at_index(listed.highlighted).id
        return next((place for place in self.places if place.url == url), None)

    def _layout_chosen(self) -> Layout | None:
        at = self.query_one("#layouts", OptionList).highlighted
        return self._shown[at] if at is not None and at < len(self._shown) else None

    def _list_layouts(self, search: str) -> None:
        known = list(self.offers.layouts if self.offers else ())
        if self._own is not None and self._own.id not in [one.id for one in known]:
            known.insert(0, self._own)
        self._shown = matching(known, search)
        try:
            named = layout_file(search)
        except FileProblems as error:
            self.notify(str(error), severity="error", markup=False)
        else:
            self._shown = [named] if named is not None else self._shown
        listed = self.query_one("#layouts", OptionList)
        listed.clear_options()
        own = self.offers.own if self.offers else ()
        listed.add_options(
            Option(_row(words.layout_choice(one.id, one.title, len(one.keys), one.id in own))) for one in self._shown
        )
        if self._shown:
            self._highlight(self._wanted)
        else:
            listed.add_option(Option(Text(words.LAYOUT_NONE if self.offers else words.READING), disabled=True))

    def _highlight(self, layout: str) -> None:
        self._wanted = layout
        if self._shown:
            at = next((number for number, one in enumerate(self._shown) if one.id == layout), 0)
            self.query_one("#layouts", OptionList).highlighted = at


def _row(text: str) -> Text:
    return Text(text, no_wrap=True, overflow="ellipsis")
