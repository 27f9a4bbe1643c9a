"""What was learned, and saving it as one of the user's own layouts; routes can be added, a test started."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Footer, Input, Static

from tailwise.layoutfile.nodes import FileProblems
from tailwise.learn.keeping import Kept, NothingLearned, filled_from, free_id, keep_layout, mergeable
from tailwise.learn.merge import MergeError
from tailwise.learn.result import Learned
from tailwise.learn.routes import RouteDraft
from tailwise.model.layout import KeyboardKind, Layout
from tailwise.tui.bindings import SAVE_KEYS
from tailwise.tui.routescreen import RouteScreen
from tailwise.words import learnscreens as words

KINDS = [kind.value for kind in KeyboardKind]


class SaveScreen(Screen[Layout | None]):
    """Gives the layout to test with, None to go on learning."""

    BINDINGS = SAVE_KEYS

    def __init__(self, result: Learned, title: str, board_id: bytes | None, *, plain: bool) -> None:
        """board_id: of the board the wiring is kept for, None to keep none."""
        super().__init__()
        self._result = result
        self._title = title
        self._board_id = board_id
        self._plain = plain
        self._kind = KINDS[0]
        self._said = ""
        self._others = mergeable(result)
        self.kept: Kept | None = None

    def compose(self) -> ComposeResult:
        """Name, facts, what is open, what was done."""
        yield Static(Text.assemble(("tailwise", "bold reverse"), "  ", words.SAVE_TITLE), id="title")
        with VerticalScroll(id="page"):
            yield Static(words.NAME_TITLE, classes="title")
            yield Input(self._title, placeholder=words.NAME_EMPTY, id="name", compact=True)
            yield Static(id="facts")
        yield Static(id="how", classes="hint")
        yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        """The name can be changed at once."""
        self._draw()
        self.query_one("#name", Input).focus()

    def on_input_changed(self, event: Input.Changed) -> None:
        """The id follows the name."""
        self._draw()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Save."""
        self.action_save()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Routes and testing need the saved layout, merging another specimen."""
        if action == "merge":
            return self.kept is None and bool(self._others)
        return self.kept is not None if action in ("routes", "test") else True

    def action_kind(self) -> None:
        """The next way contacts can be built."""
        self._kind = KINDS[(KINDS.index(self._kind) + 1) % len(KINDS)]
        self._draw()

    def action_save(self) -> None:
        """Write the layout file and keep the wiring."""
        self._write(None)

    def action_merge(self) -> None:
        """Fill what was not found from the other specimens."""
        said = []
        for other in self._others:
            try:
                self._result, both = filled_from(self._result, other)
            except (MergeError, NothingLearned, FileProblems) as error:
                self.notify(str(error), severity="error", markup=False)
            else:
                said.append(words.merged(other.title, both.filled, both.disagreeing))
        self._said = "\n".join(said)
        self._draw()

    def action_routes(self) -> None:
        """Propose routes and have them corrected."""
        if self.kept is not None:
            self.app.push_screen(RouteScreen(RouteDraft(self.kept.layout), plain=self._plain), self._routed)

    def action_test(self) -> None:
        """Test this keyboard with its new layout."""
        if self.kept is not None:
            self.dismiss(self.kept.layout)

    def action_back(self) -> None:
        """Go on learning."""
        self.dismiss(None)

    def _routed(self, draft: RouteDraft | None) -> None:
        if draft is not None:
            self._write(draft)

    def _write(self, draft: RouteDraft | None) -> None:
        title = self.query_one("#name", Input).value.strip() or words.UNNAMED
        layout_id = self.kept.layout.id if self.kept is not None else free_id(title)
        routes = None if draft is None else draft.routes()
        try:
            self.kept = keep_layout(self._result, layout_id, title, self._kind, words.SPECIMEN, routes, self._board_id)
        except (NothingLearned, FileProblems, OSError) as error:
            self.notify(str(error), severity="error", markup=False)
            return
        said = [words.saved(str(self.kept.path))]
        if self.kept.wiring is not None:
            said.append(words.wiring_kept(str(self.kept.wiring)))
        if draft is not None:
            said.append(words.ROUTES_SAVED)
        self._said = "\n".join(said)
        self.refresh_bindings()
        self._draw()

    def _draw(self) -> None:
        if not self.is_mounted:
            return
        result = self._result
        title = self.query_one("#name", Input).value.strip() or words.UNNAMED
        found = sum(key.row is not None for key in result.keys)
        counts = (len(result.rows), len(result.columns), len(result.singles), len(result.diodes))
        text = Text(words.learned(found, len(result.keys), *counts) + "\n")
        text.append(words.id_line(self.kept.layout.id if self.kept is not None else free_id(title)) + "\n")
        text.append(words.kind_line(self._kind) + "\n\n")
        text.append(words.OPEN + "\n", "bold")
        for point in result.open_points:
            text.append(f"· {point}\n")
        if self._others and self.kept is None:
            text.append(words.can_merge([other.title for other in self._others]) + "\n")
        if self._said:
            text.append("\n" + self._said, "bold")
        self.query_one("#facts", Static).update(text)
        self.query_one("#how", Static).update(words.SAVED_HINT if self.kept is not None else words.SAVE_HINT)
