"""A keyboard for the machines: looks at it, one press after another."""

from __future__ import annotations

from dataclasses import dataclass, field

from tailwise.layoutfile.library import find_layout
from tailwise.model.layout import Layout
from tailwise.procedure.outcome import Outcome
from tailwise.procedure.procedure import Procedure
from tailwise.procedure.sight import Sight
from tailwise.procedure.walk import PressWalk

LAYOUT: Layout = find_layout("demo-7x6")


@dataclass
class Hands:
    """Presses keys in front of a machine and counts time, 50 ms a look."""

    machine: PressWalk | Procedure
    at_us: int = 2_000_000
    pressed: dict[str, int] = field(default_factory=dict)
    dropped: dict[str, int] = field(default_factory=dict)
    down: set[str] = field(default_factory=set)
    doubtful: set[str] = field(default_factory=set)
    stuck: set[str] = field(default_factory=set)
    joined: list[tuple[str, str]] = field(default_factory=list)
    linked: bool = True
    together: int = 0

    def look(self, looks: int = 1) -> Outcome:
        """Let time go by."""
        outcome = Outcome()
        for _ in range(looks):
            self.at_us += 50_000
            outcome += self.machine.see(
                Sight(
                    self.at_us,
                    frozenset(self.down),
                    frozenset(self.doubtful),
                    dict(self.pressed),
                    dict(self.dropped),
                    tuple(self.joined),
                    frozenset(self.stuck),
                    linked=self.linked,
                    together=self.together,
                )
            )
        return outcome

    def press(self, *keys: str) -> Outcome:
        """Press keys together and let go."""
        for key in keys:
            self.hold(key)
        outcome = self.look(2)
        self.down -= set(keys)
        return outcome + self.look()

    def hold(self, key: str) -> None:
        """Put a key down; the next look sees it."""
        self.down.add(key)
        self.pressed[key] = self.pressed.get(key, 0) + 1
