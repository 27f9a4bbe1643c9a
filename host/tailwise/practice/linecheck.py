"""The check of the undriven lines: does something outside hold a line high or low?

Theory. A clear line follows the board: pulled to 0 V it stays there when released, and under the pull-up it rises. A line
that is still above V_IH after its charge is gone is held high; one still below V_IL under the pull-up is held low. Lines
that hang together through pressed keys or shorts are solved together.
"""

from __future__ import annotations

from tailwise.practice.membrane import Membrane
from tailwise.wire.messages import LineRole, LineStatus


def check_lines(membrane: Membrane, roles: bytes, checked: int) -> bytes:
    """One line_status for each board line; lines from `checked` on have no converter input."""
    free, pulled = _levels(membrane, False), _levels(membrane, True)
    inputs = membrane.inputs
    statuses = bytearray()
    for line, role in enumerate(roles):
        if role == LineRole.UNUSED:
            status = LineStatus.NOT_USED
        elif line >= checked:
            status = LineStatus.NOT_CHECKED
        elif free.get(line, 0.0) >= inputs.vih_v:
            status = LineStatus.HELD_HIGH
        elif pulled.get(line, inputs.supply_v) <= inputs.vil_v:
            status = LineStatus.HELD_LOW
        else:
            status = LineStatus.CLEAR
        statuses.append(status)
    return bytes(statuses)


def _levels(membrane: Membrane, pulled: bool) -> dict[int, float]:
    """Volts at every board line whose line has a source from outside in its group."""
    if not membrane.foreign:
        return {}
    joined = membrane.groups()
    alone = [frozenset({each.line}) for each in membrane.foreign if not any(each.line in group for group in joined)]
    levels: dict[int, float] = {}
    for group in [*joined, *alone]:
        network = membrane.network(group)
        pins = [pin for pin, line in membrane.seat.items() if line in group]
        for pin in pins:
            if pulled:
                network.source(("pin", pin), membrane.inputs.supply_v, membrane.inputs.pullup_ohm)
        volts = network.solve()
        levels |= {pin: volts[("pin", pin)] for pin in pins}
    return levels
