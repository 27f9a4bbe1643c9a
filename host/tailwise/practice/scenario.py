"""A practice scenario: a keyboard with a story, what is wrong with it, who does what, and what must be found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tailwise.model.fault import Fault
from tailwise.practice.virtual import Setup

FORMAT = "tailwise-scenario/1"


@dataclass(frozen=True)
class Scenario:
    """A scenario as read. `expect`: the findings a run with every key pressed must give, none for a sound keyboard."""

    name: str
    story: str
    setup: Setup
    expect: tuple[Fault, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """The object that `practice --list --json` prints."""
        return {
            "name": self.name,
            "layout": self.setup.layout.id,
            "story": self.story,
            "expect": [fault_to_json(fault) for fault in sorted(self.expect, key=lambda each: each.sort_key)],
        }


def fault_to_json(fault: Fault) -> dict[str, Any]:
    """Kind, lines, keys and place of a fault."""
    place = fault.place
    return {
        "kind": fault.kind.value,
        "lines": list(fault.lines),
        "keys": list(fault.keys),
        "place": None if place is None else {"line": place.line, "after": place.after, "before": place.before},
    }
