"""What the connect screen offers: ports, practice scenarios, layouts. No port is opened here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from tailwise.layoutfile.library import find_layout, shipped_ids
from tailwise.layoutfile.nodes import FileProblems
from tailwise.layoutfile.own import own_ids
from tailwise.link.ports import PortInfo
from tailwise.model.layout import Layout
from tailwise.practice.catalogue import find_scenario, scenario_names

PRACTICE = "practice:"
REPLAY = "replay:"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a keyboard can be tested: its URL, what it is, and its layout where that is known."""

    url: str
    about: str
    layout: str | None = None

    @property
    def practice(self) -> bool:
        """A practice scenario."""
        return self.url.startswith(PRACTICE)

    @property
    def operated(self) -> bool:
        """Somebody else presses the keys and makes the marks: the practice operator, or whoever made a recording."""
        return self.url.startswith((PRACTICE, REPLAY))


def port_places(ports: Callable[[], Sequence[PortInfo]]) -> list[Place]:
    """Serial ports as the system lists them."""
    return [Place(port.device, " ".join(text for text in (port.about, port.usb_text) if text)) for port in ports()]


@dataclass(frozen=True, slots=True)
class Offers:
    """Layouts by id, practice scenarios by name, and what is wrong with those that cannot be offered.

    own: ids of the layouts that are the user's own.
    """

    layouts: tuple[Layout, ...] = ()
    practice: tuple[Place, ...] = ()
    problems: tuple[str, ...] = ()
    own: tuple[str, ...] = ()


def read_offers() -> Offers:
    """Read every layout, the user's own first, and every built-in scenario: takes a few seconds where there are many."""
    problems: list[str] = []
    own = [name for name in own_ids() if name not in shipped_ids()]
    layouts = _each([*own, *shipped_ids()], find_layout, problems)
    scenarios = _each(scenario_names(), find_scenario, problems)
    places = tuple(Place(PRACTICE + one.name, one.story, one.setup.layout.id) for one in scenarios)
    return Offers(tuple(layouts), places, tuple(problems), tuple(own))


def out_of_date(offers: Offers) -> bool:
    """The user's own layouts are others than when the offers were read."""
    return set(offers.own) != set(own_ids()) - set(shipped_ids())


def named_places() -> tuple[Place, ...]:
    """The built-in scenarios by name alone, while their stories are still being read."""
    return tuple(Place(PRACTICE + name, "") for name in scenario_names())


def practice_at(url: str) -> tuple[Place, Layout]:
    """One scenario and its layout; FileProblems where it has problems."""
    played = find_scenario(url.removeprefix(PRACTICE))
    return Place(url, played.story, played.setup.layout.id), played.setup.layout


def layout_file(text: str) -> Layout | None:
    """The layout of a file the search names, None where it names none; FileProblems where it has problems."""
    return find_layout(text) if text and Path(text).is_file() else None


Read = TypeVar("Read")


def _each(names: Sequence[str], read: Callable[[str], Read], problems: list[str]) -> list[Read]:
    found = []
    for name in names:
        try:
            found.append(read(name))
        except FileProblems as error:
            problems.append(f"{name}: {error}")
    return found


def matching(layouts: Sequence[Layout], search: str) -> list[Layout]:
    """Layouts in which every word of the search stands: in the id, the title or as the number of keys."""
    wanted = search.lower().split()
    return [one for one in layouts if all(word in f"{one.id} {one.title} {len(one.keys)}".lower() for word in wanted)]
