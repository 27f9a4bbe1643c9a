"""What a run is asked to watch without pause, and whether this board can."""

from __future__ import annotations

from dataclasses import dataclass

from tailwise.harness.wiring import Wiring
from tailwise.model.observation import Pair
from tailwise.wire.messages import Capability, Identity, SetWatch, WatchPullUp
from tailwise.words import live as words


@dataclass(frozen=True, slots=True)
class WatchRequest:
    """Pairs as (sensed line, driven line), none for the matrix; switched: on the switched pull-up."""

    pairs: tuple[Pair, ...] = ()
    switched: bool = True

    def command(self, wiring: Wiring) -> SetWatch:
        """SET_WATCH for it."""
        lines = bytes(wiring.board_line[line] for pair in self.pairs for line in pair)
        return SetWatch(WatchPullUp.SWITCHED if self.switched else WatchPullUp.OWN, lines)


MATRIX = WatchRequest()
"""Every line against every line."""


def can_watch(request: WatchRequest, wiring: Wiring, identity: Identity | None) -> str:
    """Why the board cannot watch this; empty where it can."""
    unknown = [line for pair in request.pairs for line in pair if line not in wiring.board_line]
    if unknown:
        return words.cannot_watch_lines(unknown)
    if identity is None or not identity.capabilities & Capability.WATCH_LINE:
        return words.CANNOT_WATCH
    return ""
