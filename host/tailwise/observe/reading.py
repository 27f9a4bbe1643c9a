"""What a settled reading says of each pair of lines: certain, unknown, joined without a key.

Theory. Current flows from a sensed line (pulled up) to the driven one (low), so a pair reads closed where a path leads
from the sensed to the driven line through closed contacts, joins and diodes: the reading is the transitive closure of
what is closed. Lines are nodes; a line with a diode has a second node, its film behind the diode. A closed contact is
an edge both ways between the films, one way where the key has a diode of its own. A key is certain when its pair could
not read as it does without it: its own edge taken away, no path is left. Three pressed corners of a rectangle show the
fourth (rectangle rule: encoder data sheet, Semtech UR5HCSPI), so none of the four is certain. Two keys on one
crosspoint are one contact here: no reading can tell them apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from tailwise.model.layout import Layout
from tailwise.observe.matrix import Rows

Duo = tuple[int, int]
"""Two lines by position in `Layout.lines`, the lower first."""

_CACHE_LIMIT = 4096


class Status(Enum):
    """What a settled reading says of a closed pair."""

    CERTAIN = "certain"
    UNKNOWN = "unknown"
    EXPLAINED = "explained"
    UNEXPLAINED = "unexplained"


@dataclass(frozen=True, slots=True)
class _Link:
    """An edge for current, from node to node."""

    start: int
    end: int


class Reader:
    """Explains readings of one layout; remembers what it has worked out."""

    def __init__(self, layout: Layout) -> None:
        self._count = len(layout.lines)
        place = {line: number for number, line in enumerate(layout.lines)}
        self._film = list(range(self._count))
        self._diodes: list[_Link] = []
        key_diodes: dict[str, str] = {}
        for diode in layout.diodes:
            if diode.line is not None:
                pin = place[diode.line]
                film = self._film[pin] = self._count + pin
                self._diodes.append(_Link(film, pin) if diode.conducts == "to_tail" else _Link(pin, film))
            elif diode.key is not None:
                key_diodes[diode.key] = diode.conducts
        self.key_duos: dict[Duo, tuple[str, ...]] = {}
        self._one_way: dict[Duo, tuple[_Link, ...]] = {}
        for key in layout.keys:
            for row, column in key.crosspoints:
                duo = duo_of(place[row], place[column])
                self.key_duos[duo] = (*self.key_duos.get(duo, ()), key.id)
                cathode = key_diodes.get(key.id)
                if cathode is not None:
                    start, end = (column, row) if cathode == "row" else (row, column)
                    link = _Link(self._film[place[start]], self._film[place[end]])
                    self._one_way[duo] = (*self._one_way.get(duo, ()), link)
        for duo in list(self._one_way):
            if len(self._one_way[duo]) < len(self.key_duos[duo]):
                del self._one_way[duo]
        self._cache: dict[tuple[tuple[tuple[int, int], ...], frozenset[Duo]], dict[Duo, Status]] = {}

    def explain(self, rows: Rows, group: int, joins: frozenset[Duo]) -> dict[Duo, Status]:
        """Status of every closed pair among the lines of `group` (a bit mask that holds whole components).

        joins: pairs known to be joined for good, keys that stand closed since the start among them.
        """
        part = tuple((line, rows[line] & group) for line in range(self._count) if group >> line & 1 and rows[line] & group)
        relevant = frozenset(duo for duo in joins if group >> duo[0] & 1 and group >> duo[1] & 1)
        known = self._cache.get((part, relevant))
        if known is None:
            if len(self._cache) > _CACHE_LIMIT:
                self._cache.clear()
            known = self._cache[(part, relevant)] = self._work_out(part, relevant)
        return known

    def _work_out(self, part: tuple[tuple[int, int], ...], joins: frozenset[Duo]) -> dict[Duo, Status]:
        closed: dict[Duo, list[tuple[int, int]]] = {}
        for driven, row in part:
            for sensed in bits(row):
                closed.setdefault(duo_of(driven, sensed), []).append((driven, sensed))
        contacts = {duo: self._contact(duo, ways) for duo, ways in closed.items() if duo in self.key_duos}
        flow = [0] * (2 * self._count)
        for link in self._diodes:
            flow[link.start] |= 1 << link.end
        for own in (*contacts.values(), *(_both(*duo) for duo in closed if duo in joins)):
            for link in own:
                flow[link.start] |= 1 << link.end
        statuses: dict[Duo, Status] = {}
        for duo, ways in closed.items():
            removed = contacts.get(duo) or (_both(*duo) if duo in joins else ())
            kept = _both(*duo) if duo in contacts and duo in joins else ()
            _flip(flow, removed, kept)
            without = all(_flows(sensed, driven, flow) for driven, sensed in ways)
            _flip(flow, removed, kept)
            if duo in contacts:
                statuses[duo] = Status.UNKNOWN if without else Status.CERTAIN
            else:
                statuses[duo] = Status.EXPLAINED if without else Status.UNEXPLAINED
        return statuses

    def _contact(self, duo: Duo, ways: list[tuple[int, int]]) -> tuple[_Link, ...]:
        low, high = self._film[duo[0]], self._film[duo[1]]
        own = self._one_way.get(duo)
        if own is None:
            return _both(low, high)
        shown = tuple(_Link(self._film[sensed], self._film[driven]) for driven, sensed in ways)
        return (*own, *(link for link in shown if link not in own))


def duo_of(one: int, other: int) -> Duo:
    """The pair, lower line first."""
    return (one, other) if one < other else (other, one)


def bits(row: int) -> list[int]:
    """Positions of the set bits, ascending."""
    found = []
    while row:
        low = row & -row
        found.append(low.bit_length() - 1)
        row ^= low
    return found


def component(rows: list[int] | Rows, back: list[int], line: int) -> int:
    """The lines joined with this one by closed readings, as a bit mask; `back[s]` holds the lines s read closed under."""
    group, fresh = 1 << line, 1 << line
    while fresh:
        reach = 0
        for each in bits(fresh):
            reach |= rows[each] | back[each]
        fresh = reach & ~group
        group |= fresh
    return group


def _both(one: int, other: int) -> tuple[_Link, ...]:
    return (_Link(one, other), _Link(other, one))


def _flip(flow: list[int], removed: tuple[_Link, ...], kept: tuple[_Link, ...]) -> None:
    """Take a pair's own edges out of the flow, or put them back; edges lie between one pair of lines only."""
    for link in set(removed) - set(kept):
        flow[link.start] ^= 1 << link.end


def _flows(start: int, end: int, flow: list[int]) -> bool:
    """Whether current gets from one node to another."""
    reached = fresh = 1 << start
    while fresh:
        reach = 0
        for node in bits(fresh):
            reach |= flow[node]
        fresh = reach & ~reached
        reached |= fresh
        if reached >> end & 1:
            return True
    return False
