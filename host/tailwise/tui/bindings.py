"""Every key of the app in one place, each under a name that a user's keys file can give other keys. None needs ctrl."""

from __future__ import annotations

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
    bound("nothing", "n"),
    bound("skip", "s"),
    bound("again", "b"),
    bound("it_was", "y"),
    bound("next", "space"),
    bound("alone", "c"),
    bound("reseated", "r"),
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
