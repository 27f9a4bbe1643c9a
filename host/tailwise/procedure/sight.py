"""What a stage sees of the keyboard at one moment: the little of a live snapshot that a procedure needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from tailwise.model.observation import Pair
from tailwise.observe.snapshot import KeyState as Seen
from tailwise.observe.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class Sight:
    """One look at the board.

    at_us: run time. down: keys certainly closed now. doubtful: keys inside a closed rectangle now. pressed: certain
    presses so far, by key. dropped: openings inside presses so far, by key. joined: pairs of lines that read joined
    although no press explains it. stuck: keys closed since the rest check. gaps: runs of lost frames so far. linked: False
    while the link is lost. watched: pairs (sensed, driven) watched without pause, none while the matrix is scanned. openings:
    the newest of the watch as (key, start, length), microseconds. together: openings that began on both pairs at one
    instant. shortest_us: the shortest opening that cannot be missed now. unread_us: what the watch did not read so far.
    """

    at_us: int
    down: frozenset[str] = frozenset()
    doubtful: frozenset[str] = frozenset()
    pressed: Mapping[str, int] = field(default_factory=dict)
    dropped: Mapping[str, int] = field(default_factory=dict)
    joined: tuple[Pair, ...] = ()
    stuck: frozenset[str] = frozenset()
    gaps: int = 0
    linked: bool = True
    watched: tuple[Pair, ...] = ()
    openings: tuple[tuple[str, int, int], ...] = ()
    together: int = 0
    shortest_us: float = 0.0
    unread_us: int = 0


def count(table: Mapping[str, int], key: str) -> int:
    """How often, 0 where the key is not in the table."""
    return table.get(key, 0)


def sight_of(snapshot: Snapshot) -> Sight:
    """The look that a live snapshot gives."""
    keys, watch = snapshot.keys, snapshot.watch
    return Sight(
        at_us=snapshot.run_us,
        down=frozenset(key for key, picture in keys.items() if picture.state is Seen.CLOSED),
        doubtful=frozenset(key for key, picture in keys.items() if picture.state is Seen.UNKNOWN),
        pressed={key: picture.presses for key, picture in keys.items() if picture.presses},
        dropped={key: picture.drops for key, picture in keys.items() if picture.drops},
        joined=snapshot.joined,
        stuck=frozenset(key for key, picture in keys.items() if picture.state is Seen.STUCK),
        gaps=snapshot.link.gaps,
        watched=watch.pairs if watch is not None else (),
        openings=watch.newest if watch is not None else (),
        together=watch.together if watch is not None else 0,
        shortest_us=snapshot.shortest_us,
        unread_us=watch.blind_us if watch is not None else 0,
    )
