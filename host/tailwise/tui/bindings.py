"""Every key of the app in one place, each under a name that a user's keys file can give other keys. None needs ctrl."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

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

CONNECT_KEYS: list[BindingType] = [bound("start", "f5"), bound("ports", "f2")]

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
    bound("another", "o"),
]


def first_key(name: str, changed: Mapping[str, str]) -> str:
    """The first key of a binding by its name, as the user changed it or as it comes."""
    for binding in (*RUN_KEYS, *APP_KEYS, *VERDICT_KEYS, *CONNECT_KEYS):
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
