"""The connection assistant: a few presses of known keys tell how a known keyboard sits in the harness.

First the known ways (right, reversed, shifted, swapped tails: `connection`), then, where none of them fits, line by line
(`freewiring`). Both see the same presses from the start, so nothing has to be pressed twice.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from threading import Lock

from tailwise.harness.wiring import Wiring, plain_wiring
from tailwise.learn.answers import Answers
from tailwise.learn.connection import Connection
from tailwise.learn.freewiring import TRIES, FreeWiring
from tailwise.learn.sighting import BoardPair
from tailwise.model.layout import Layout
from tailwise.procedure.keystate import KeyState
from tailwise.recording.format import Record
from tailwise.words import connecting as words

MOST_PER_LINE = 3
"""Presses for each line after which answers that contradict each other are given up (about two in three are enough)."""


@dataclass(frozen=True)
class Found:
    """How the keyboard sits: in words, layout line -> board line, presses it took.

    unreached: lines on no contact of the harness. open_lines: lines that no press could tell apart.
    """

    how: str
    board_line: dict[str, int]
    presses: int
    unreached: tuple[str, ...] = ()
    open_lines: tuple[str, ...] = ()
    right: bool = False

    @property
    def wiring(self) -> Wiring | None:
        """The whole wiring, None where a line is missing."""
        return None if self.unreached or self.open_lines else Wiring(dict(self.board_line))


@dataclass(frozen=True)
class Picture:
    """What a face shows: the key to press, key states, the last reading as board lines, what is joined at rest."""

    asking: str | None
    resting: bool
    states: dict[str, KeyState]
    presses: int
    last: tuple[str, tuple[str, ...]] | None
    joined: tuple[tuple[int, int], ...]
    uncertain: bool
    line_by_line: bool
    found: Found | None


class ConnectionAssistant:
    """Asks and weighs. `hear` belongs to the run's thread, the rest to any."""

    def __init__(self, layout: Layout, lines: int) -> None:
        self.layout = layout
        self._lock = Lock()
        self._answers = Answers(lines)
        self._known = Connection(layout, plain_wiring(layout))
        self._free = FreeWiring(layout)
        self._states: dict[str, KeyState] = {key.id: KeyState.TODO for key in layout.keys}
        self._last: tuple[str, tuple[str, ...]] | None = None
        self._uncertain = False
        self._next: str | None = None
        self._result: Found | None = None
        self._most = MOST_PER_LINE * len(layout.lines)
        self._weigh()

    def hear(self, record: Record) -> None:
        """One record of the run."""
        with self._lock:
            for answer in self._answers.feed(record):
                key = answer.key if answer.key is not None else self._next
                if answer.press is not None and not answer.press.known:
                    self._uncertain = True
                elif key is not None and key in self._states and self._result is None:
                    self._saw(key, () if answer.press is None else answer.press.pairs)

    def nothing_happened(self) -> None:
        """The key asked for was pressed and nothing was read."""
        with self._lock:
            key = self._next
            if key is not None:
                self._saw(key, ())

    def skip(self) -> None:
        """Do not ask for this key."""
        with self._lock:
            key = self._next
            if key is not None:
                self._known.asked[key] = self._free.silent[key] = TRIES
                self._states[key] = KeyState.SKIPPED
                self._weigh()

    def picture(self) -> Picture:
        """Everything a face shows."""
        with self._lock:
            watch, found = self._answers.watch, self._result
            asking = None if watch.resting or found is not None or self._answers.named else self._next
            states = dict(self._states)
            if asking is not None:
                states[asking] = KeyState.ASKED
            joined = tuple(sorted((min(pair), max(pair)) for pair in watch.joined_at_rest))
            return Picture(
                asking,
                watch.resting,
                states,
                self._known.presses,
                self._last,
                joined,
                self._uncertain,
                self._known.arbitrary,
                found,
            )

    def _saw(self, key: str, pairs: Iterable[BoardPair]) -> None:
        joints = tuple(pairs)
        self._uncertain = False
        self._known.saw(key, joints)
        self._free.saw(key, joints)
        self._states[key] = KeyState.SEEN if joints else KeyState.MUTE
        self._last = key, tuple(f"L{line}" for line in sorted({line for pair in joints for line in pair}))
        self._weigh()

    def _weigh(self) -> None:
        self._next = self._asking()
        self._result = self._found()

    def _asking(self) -> str | None:
        known = self._known
        if known.settled is not None or known.presses >= self._most:
            return None
        key = None if known.arbitrary else known.next_key()
        return key if key is not None else self._free.next_key()

    def _found(self) -> Found | None:
        way = self._known.settled
        presses = self._known.presses
        if way is not None:
            lost = tuple(line for line in self.layout.lines if line not in way.board_line and self.layout.keys_on[line])
            plain = plain_wiring(self.layout).board_line
            right = way.board_line == plain
            whole = way.board_line if lost else _filled(way.board_line, self.layout)
            return Found(way.words, whole, presses, lost, right=right)
        if (self._known.arbitrary and self._free.next_key() is None) or (self._next is None and presses):
            lines = self._free.board_line
            open_lines = tuple(line for line in self.layout.lines if line not in lines and self.layout.keys_on[line])
            whole = lines if open_lines else _filled(lines, self.layout)
            return Found(words.ARBITRARY, whole, presses, open_lines=open_lines)
        return None


def _filled(board_line: dict[str, int], layout: Layout) -> dict[str, int]:
    """Lines without a key take their plain board line where it is free, else the next free one: no press could tell."""
    whole = dict(board_line)
    plain = plain_wiring(layout).board_line
    for line in layout.lines:
        if line not in whole:
            taken = set(whole.values())
            free = [plain[line], *range(len(layout.lines) + len(taken))]
            whole[line] = next(number for number in free if number not in taken)
    return whole
