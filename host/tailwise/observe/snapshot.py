"""The live picture of a run: what the key map and the strip of lines show, cheap enough for twenty times a second."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

from tailwise.model.layout import Layout
from tailwise.model.observation import LinkCounts
from tailwise.observe.contacts import Contact
from tailwise.observe.matrix import Rows
from tailwise.observe.reading import Duo, Status, duo_of
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


@dataclass(frozen=True, slots=True)
class WatchPicture:
    """A running watch: pairs as (sensed, driven) lines, which read closed, openings of each so far, microseconds in which
    nothing was read, openings counted and not listed, the newest openings as (key, start, length), microseconds, and how many
    began on both pairs at one instant.
    """

    pairs: tuple[tuple[str, str], ...]
    closed: tuple[bool, ...]
    openings: tuple[int, int]
    blind_us: int
    unlisted: int
    newest: tuple[tuple[str, int, int], ...]
    together: int


@dataclass(frozen=True)
class Snapshot:
    """keys: by key id. flickers: openings inside presses, counted for both lines. joined: pairs no key joins that read
    closed and unexplained now. run_us: newest time of the board. watch: while single pairs are watched. shortest_us: the
    shortest opening that cannot be missed now.
    """

    keys: dict[str, KeyPicture]
    flickers: dict[str, int]
    joined: tuple[tuple[str, str], ...]
    run_us: int
    link: LinkCounts
    watch: WatchPicture | None = None
    shortest_us: float = 0.0


def take_snapshot(
    layout: Layout, tracker: Tracker, rows: Rows, run_us: int, link: LinkCounts, presses: dict[str, int] | None = None
) -> Snapshot:
    """The picture from the confirmed contacts and the newest matrix.

    presses: certain presses by key, where crosspoints alone do not tell them (keys that close several).
    """
    place = {line: number for number, line in enumerate(layout.lines)}
    flickers = [0] * len(layout.lines)
    statuses = tracker.explain(rows)
    pictures: dict[Duo, KeyPicture] = {}
    for duo in tracker.reader.key_duos:
        contact = tracker.contacts.get(duo)
        picture = pictures[duo] = _picture(contact or Contact(), statuses.get(duo), tracker.end_us)
        flickers[duo[0]] += picture.drops
        flickers[duo[1]] += picture.drops
    keys = {}
    for key in layout.keys:
        found = [pictures[duo_of(place[row], place[column])] for row, column in key.crosspoints]
        shown = min(found, key=_least_told) if found else KeyPicture(KeyState.OUTSIDE, 0)
        keys[key.id] = shown if presses is None else _recounted(shown, presses.get(key.id, 0))
    joined = sorted(
        (layout.lines[duo[0]], layout.lines[duo[1]])
        for duo in statuses
        if duo not in pictures and duo in tracker.contacts and _strange(tracker.contacts[duo])
    )
    return Snapshot(keys, {line: flickers[at] for at, line in enumerate(layout.lines)}, tuple(joined), run_us, link)


def _picture(contact: Contact, status: Status | None, now_us: int) -> KeyPicture:
    presses, drops = contact.tally(now_us)
    current = contact.current
    if status is not None:
        if current is not None and current.from_start and current.open_since_us is None:
            return KeyPicture(KeyState.STUCK, presses, drops)
        return KeyPicture(KeyState.UNKNOWN if status is Status.UNKNOWN else KeyState.CLOSED, presses, drops)
    return KeyPicture(KeyState.SEEN if presses else KeyState.NEVER, presses, drops)


def _least_told(picture: KeyPicture) -> tuple[int, int]:
    """A key that closes several crosspoints is shown as the one of which least is known."""
    order = (KeyState.NEVER, KeyState.SEEN, KeyState.UNKNOWN, KeyState.STUCK, KeyState.CLOSED)
    return order.index(picture.state), picture.presses


def _recounted(picture: KeyPicture, presses: int) -> KeyPicture:
    state = picture.state
    if state in (KeyState.SEEN, KeyState.NEVER):
        state = KeyState.SEEN if presses else KeyState.NEVER
    return replace(picture, state=state, presses=presses)


def _strange(contact: Contact) -> bool:
    return contact.current is not None and contact.current.strange
