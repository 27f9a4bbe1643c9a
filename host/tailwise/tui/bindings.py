"""Every key of the app in one place, each under a name that a user's keys file can give other keys. None needs ctrl."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import chain

from rich.style import Style
from rich.text import Text
from textual.binding import Binding, BindingType

from tailwise.words import app as words


def bound(name: str, keys: str, action: str | None = None, *, show: bool = True, priority: bool = False) -> Binding:
    """A binding by its name in the catalogue."""
    return Binding(keys, action or name, words.KEY_NAMES[name], show=show, priority=priority, id=name)


APP_KEYS: list[BindingType] = [
    bound("help", "f1"),
    bound("leave", "q,f10", "leave"),
    bound("mute", "m,f8", "mute", show=False),
]

CONNECT_KEYS: list[BindingType] = [
    bound("start", "f5"),
    bound("ports", "f2"),
    bound("learn", "f3"),
    bound("raw", "f4"),
    bound("connection", "f6"),
    bound("ledger", "f9", "app.ledger"),
]

RUN_KEYS: list[BindingType] = [
    bound("nothing", "n", show=False),
    bound("skip", "s", show=False),
    bound("again", "b", show=False),
    bound("it_was", "y", show=False),
    bound("next", "space", show=False),
    bound("alone", "c", show=False),
    bound("reseated", "r", show=False),
    bound("line", "w"),
    bound("walk", "2", show=False),
    bound("flex", "3", show=False),
    bound("verdict", "4"),
    bound("another", "o"),
]

VERDICT_KEYS: list[BindingType] = [
    bound("back", "b,escape", "back"),
    bound("end", "e"),
    bound("keep", "s"),
    bound("next_one", "n"),
    bound("page", "p"),
    bound("same_insertion", "i", show=False),
    bound("ledger", "f9", "app.ledger"),
    bound("another", "o"),
]

LEARN_KEYS: list[BindingType] = [
    bound("nothing", "n", show=False),
    bound("skip", "s", show=False),
    bound("again", "b", show=False),
    bound("key", "k", show=False),
    bound("learned", "e"),
    bound("another", "o"),
]

CONNECTION_KEYS: list[BindingType] = [
    bound("nothing", "n", show=False),
    bound("skip", "s", show=False),
    bound("test", "t,enter", "test"),
    bound("forget", "f"),
    bound("another", "o"),
]

RAW_KEYS: list[BindingType] = [bound("afresh", "c"), bound("another", "o")]

DRAW_KEYS: list[BindingType] = [bound("start", "f5"), bound("back", "escape", "back")]

SAVE_KEYS: list[BindingType] = [
    bound("save", "f5"),
    bound("kind", "f4"),
    bound("merge", "f8"),
    bound("routes", "f6"),
    bound("test", "f7", "test"),
    bound("back", "escape", "back"),
]

ROUTE_KEYS: list[BindingType] = [
    bound("nearer", "u,left", show=False),
    bound("farther", "d,right", show=False),
    bound("tail", "t"),
    bound("save", "f5"),
    bound("back", "escape", "back"),
]

LEDGER_KEYS: list[BindingType] = [
    bound("mark", "space"),
    bound("compare", "f5"),
    bound("page", "f6"),
    bound("back", "escape", "back"),
]

ALL_KEYS = (
    RUN_KEYS,
    APP_KEYS,
    VERDICT_KEYS,
    CONNECT_KEYS,
    LEARN_KEYS,
    CONNECTION_KEYS,
    RAW_KEYS,
    DRAW_KEYS,
    SAVE_KEYS,
    ROUTE_KEYS,
    LEDGER_KEYS,
)


def first_key(name: str, changed: Mapping[str, str]) -> str:
    """The first key of a binding by its name, as the user changed it or as it comes."""
    for binding in chain(*ALL_KEYS):
        if isinstance(binding, Binding) and binding.id == name:
            return changed.get(name, binding.key).split(",")[0].strip()
    raise KeyError(name)


def hints_text(hints: Iterable[tuple[str, str]], changed: Mapping[str, str]) -> Text:
    """Keys and what they do, in one row."""
    text = Text()
    for name, does in hints:
        text.append("   " if text.plain else "")
        text.append(first_key(name, changed), Style(bold=True))
        text.append(f" {does}")
    return text
