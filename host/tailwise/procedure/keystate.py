"""What each key of the live map shows: one state a key, the most telling one."""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum

from tailwise.model.layout import Layout
from tailwise.procedure.sight import Sight, count
from tailwise.procedure.walk import KeyNote, PressWalk


class KeyState(StrEnum):
    """States of the live map; each has a symbol and a word in the catalogue."""

    TODO = "todo"
    ASKED = "asked"
    DOWN = "down"
    SEEN = "seen"
    MUTE = "mute"
    SKIPPED = "skipped"
    DOUBT = "doubt"
    STUCK = "stuck"
    MOVED = "moved"
    DROPS = "drops"
    UNWIRED = "unwired"


_FROM_NOTE = {
    KeyNote.TODO: KeyState.TODO,
    KeyNote.SEEN: KeyState.SEEN,
    KeyNote.MUTE: KeyState.MUTE,
    KeyNote.SKIPPED: KeyState.SKIPPED,
    KeyNote.DOUBT: KeyState.DOUBT,
    KeyNote.STUCK: KeyState.STUCK,
    KeyNote.MOVED: KeyState.MOVED,
}


def key_states(layout: Layout, walk: PressWalk, sight: Sight, asked: Collection[str] = ()) -> dict[str, KeyState]:
    """The state of every key; `asked` are the keys a prompt names now."""
    return {key.id: _state(key.id, bool(key.crosspoints), walk, sight, asked) for key in layout.keys}


def _state(key: str, wired: bool, walk: PressWalk, sight: Sight, asked: Collection[str]) -> KeyState:
    if not wired:
        return KeyState.UNWIRED
    if key in sight.stuck:
        return KeyState.STUCK
    if key in sight.down:
        return KeyState.DOWN
    if key in asked:
        return KeyState.ASKED
    if key in sight.doubtful:
        return KeyState.DOUBT
    note = walk.notes.get(key, KeyNote.TODO)
    if note is KeyNote.SEEN and count(sight.dropped, key):
        return KeyState.DROPS
    return _FROM_NOTE[note]
