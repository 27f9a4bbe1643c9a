"""The live picture of a run: what the key map and the strip of lines show, cheap enough for twenty times a second."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from tailwise.model.layout import Layout
from tailwise.model.observation import LinkCounts
from tailwise.observe.contacts import Contact
from tailwise.observe.matrix import Rows
from tailwise.observe.reading import Duo, Status
from tailwise.observe.tracker import Tracker


class KeyState(Enum):
    """What the map shows for a key."""

    OUTSIDE = "outside"
    NEVER = "never"
    SEEN = "seen"
    CLOSED = "closed"
    UNKNOWN = "unknown"
    STUCK = "stuck"


@dataclass(frozen=True, slots=True)
class KeyPicture:
    """A key: its state now, how many certain presses it has had (the running one included), openings inside presses."""

    state: KeyState
    presses: int
    drops: int = 0


@dataclass(frozen=True)
class Snapshot:
    """keys: by key id. flickers: openings inside presses, counted for both lines. joined: pairs no key joins that read
    closed and unexplained now. run_us: newest time of the board.
    """

    keys: dict[str, KeyPicture]
    flickers: dict[str, int]
    joined: tuple[tuple[str, str], ...]
    run_us: int
    link: LinkCounts


def take_snapshot(layout: Layout, tracker: Tracker, rows: Rows, run_us: int, link: LinkCounts) -> Snapshot:
    """The picture from the confirmed contacts and the newest matrix."""
    place = {line: number for number, line in enumerate(layout.lines)}
    flickers = [0] * len(layout.lines)
    pictures: dict[Duo, KeyPicture] = {}
    joined = []
    statuses = tracker.explain(rows)
    for duo, contact in tracker.contacts.items():
        closed = bool(rows[duo[0]] >> duo[1] & 1 or rows[duo[1]] >> duo[0] & 1)
        if duo in tracker.reader.key_duos:
            picture, drops = _picture(contact, statuses.get(duo), tracker.end_us)
            pictures[duo] = picture
            flickers[duo[0]] += drops
            flickers[duo[1]] += drops
        elif closed and contact.current is not None and contact.current.strange:
            joined.append((layout.lines[duo[0]], layout.lines[duo[1]]))
    keys = {}
    for key in layout.keys:
        points = [(place[row], place[column]) for row, column in key.crosspoints]
        found = [pictures[min(a, b), max(a, b)] for a, b in points if (min(a, b), max(a, b)) in pictures]
        if not points:
            keys[key.id] = KeyPicture(KeyState.OUTSIDE, 0)
        elif len(found) < len(points):
            keys[key.id] = KeyPicture(KeyState.NEVER, 0)
        else:
            keys[key.id] = min(found, key=lambda each: (each.presses, each.state.value))
    return Snapshot(keys, {line: flickers[at] for at, line in enumerate(layout.lines)}, tuple(sorted(joined)), run_us, link)


def _picture(contact: Contact, status: Status | None, now_us: int) -> tuple[KeyPicture, int]:
    presses, drops = contact.tally(now_us)
    current = contact.current
    if status is not None:
        if current is not None and current.from_start and current.open_since_us is None:
            return KeyPicture(KeyState.STUCK, presses, drops), drops
        state = KeyState.UNKNOWN if status is Status.UNKNOWN else KeyState.CLOSED
        return KeyPicture(state, presses, drops), drops
    if presses:
        return KeyPicture(KeyState.SEEN, presses, drops), drops
    return KeyPicture(KeyState.NEVER, 0), drops
