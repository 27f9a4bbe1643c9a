"""Long flex watches: what a finger does by itself, and a crack of several lines of which one shows its film."""

from __future__ import annotations

from collections.abc import Sequence

from tailwise.diagnose.engine import diagnose
from tailwise.layoutfile.library import find_layout
from tailwise.model.fault import FaultKind
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Dropout, Observations, Press

DEMO = find_layout("demo-7x6")
MS = 1_000
SECOND = 1_000_000
ZONES = [zone.name for zone in DEMO.zones]
CONTROL_S, ZONE_S = 45, 20


def watched(
    held: tuple[str, ...], zone: str, drops: Sequence[tuple[float, float, tuple[str, ...]]], bridged: bool = False
) -> Observations:
    """Keys held through the control and every zone; drops: seconds into the zone, ms, keys lost."""
    marks = [Mark(2 * SECOND, Deed.HOLD, key=key) for key in held] + [Mark(3 * SECOND, Deed.STILL)]
    begins = {name: (3 + CONTROL_S + place * ZONE_S) * SECOND for place, name in enumerate(ZONES)}
    marks += [Mark(at, Deed.FLEX, zone=name) for name, at in begins.items()]
    end = (3 + CONTROL_S + len(ZONES) * ZONE_S) * SECOND
    found = tuple(
        Dropout(start, start + round(ms * MS), lost, tuple(key for key in held if key not in lost), bridged)
        for second, ms, lost in drops
        for start in (begins[zone] + round(second * SECOND),)
    )
    presses = tuple(Press(key, 2 * SECOND, end) for key in held)
    return Observations(DEMO, presses=presses, dropouts=found, marks=tuple(marks), started=True, rest_done=True, end_us=end)


def test_single_wobbles_of_a_held_key_are_a_finger() -> None:
    assert diagnose(watched(("SPACE",), "fold", [(second, 4.0, ("SPACE",)) for second in (2.0, 9.0, 17.0)])) == ()


def test_a_crack_that_takes_two_keys_of_one_line_and_those_of_its_neighbours_is_not_cleared_by_the_film() -> None:
    held = ("1", "RETURN", "D", "SHIFT", "CTRL", "M", "U")
    lost = tuple(key for key in held if {"C1", "C2", "C3"} & set(DEMO.key_by_id[key].crosspoints[0]))
    assert len(lost) == 4
    (finding,) = diagnose(watched(held, "fold", [(second, 9.0, lost) for second in (2.0, 6.0, 9.0, 13.0)], bridged=True))
    assert (finding.fault.kind, finding.fault.lines) == (FaultKind.INTERMITTENT_LINE, ("C1", "C2", "C3"))
