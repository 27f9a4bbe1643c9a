"""What the connect screen offers: ports, practice scenarios, layouts. No port is opened here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tailwise.layoutfile.library import find_layout, shipped_ids
from tailwise.link.ports import PortInfo
from tailwise.model.layout import Layout
from tailwise.practice.catalogue import find_scenario, scenario_names

PRACTICE = "practice:"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a keyboard can be tested: its URL, what it is, and its layout where that is known."""

    url: str
    about: str
    layout: str | None = None

    @property
    def practice(self) -> bool:
        """A practice scenario; its operator is virtual."""
        return self.url.startswith(PRACTICE)


def port_places(ports: Callable[[], Sequence[PortInfo]]) -> list[Place]:
    """Serial ports as the system lists them."""
    return [Place(port.device, " ".join(text for text in (port.about, port.usb_text) if text)) for port in ports()]


def practice_places() -> list[Place]:
    """The built-in scenarios."""
    scenarios = [find_scenario(name) for name in scenario_names()]
    return [Place(PRACTICE + one.name, one.story, one.setup.layout.id) for one in scenarios]


def all_layouts() -> list[Layout]:
    """Every shipped layout, by id."""
    return [find_layout(name) for name in shipped_ids()]


def matching(layouts: Sequence[Layout], search: str) -> list[Layout]:
    """Layouts in which every word of the search stands: in the id, the title or as the number of keys."""
    wanted = search.lower().split()
    return [one for one in layouts if all(word in f"{one.id} {one.title} {len(one.keys)}".lower() for word in wanted)]
