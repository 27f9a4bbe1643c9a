"""What follows from how a keyboard sits: the wiring is kept or forgotten, and a person is told what to do."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from tailwise.harness.store import UNNAMED, forget_wiring, keep_wiring, kept_wirings
from tailwise.learn.assistant import Found
from tailwise.model.layout import Layout
from tailwise.words import connecting as words


@dataclass(frozen=True)
class Settled:
    """Sentences in order, and the file of the kept wiring, if any."""

    said: tuple[str, ...]
    kept: Path | None = None


def settle(found: Found, layout: Layout, board_id: bytes | None) -> Settled:
    """Keep what was found for this board; board_id None (the practice bench) keeps nothing. OSError."""
    wiring = found.wiring
    if found.unreached:
        return Settled((words.unreached(found.unreached),))
    if found.open_lines or wiring is None:
        return Settled((words.open_lines(found.open_lines),))
    if board_id is None:
        return Settled((words.PRACTICE_KEEPS_NOTHING,))
    if found.right:
        forget(layout, board_id)
        return Settled((words.PLAIN,))
    path = keep_wiring(board_id, layout.id, wiring, found.how)
    return Settled((words.turn_or_keep(found.how), words.kept(str(path))), path)


def forget(layout: Layout, board_id: bytes) -> Settled:
    """The harness counts as plain for this layout on this board again. OSError."""
    said = []
    for kept in kept_wirings():
        if kept.layout == layout.id and kept.board == (board_id.hex() or UNNAMED):
            forget_wiring(kept)
            said.append(words.forgotten(kept.board, kept.layout, kept.how))
    return Settled(tuple(said) or (words.NOTHING_KEPT,))
