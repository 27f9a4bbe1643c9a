"""Waves as one table: transitions, presses, marks and blind stretches by run time. RFC 4180: commas, CRLF, a header.

Columns: t_us run time in microseconds; what (transition, press, mark, blind); keys the key or keys concerned; driven,
sensed the lines of a transition; value closed or open, certain or unsure, the deed, or why nothing was seen; until_us the
end of a press or a blind stretch, empty where it lasts to the end; frame the number of the board's frame.
"""

from __future__ import annotations

import csv
import io
from itertools import count

from tailwise.report.waves import Waves

COLUMNS = ("t_us", "what", "keys", "driven", "sensed", "value", "until_us", "frame")
Row = tuple[object, ...]


def csv_text(waves: Waves) -> str:
    """The whole table."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    writer.writerows(_rows(waves))
    return out.getvalue()


def _rows(waves: Waves) -> list[Row]:
    order = count()
    rows: list[tuple[int, int, Row]] = []

    def add(t_us: int, *rest: object) -> None:
        rows.append((t_us, next(order), (t_us, *("" if each is None else each for each in rest))))

    for blind in waves.blind:
        add(blind.start_us, "blind", "", "", "", blind.why, blind.end_us, "")
    for mark in waves.marks:
        about = " ".join(part for part in (mark.do.value, mark.zone, mark.tail, mark.text) if part)
        add(mark.at_us, "mark", mark.key, "", "", about, "", "")
    for press in waves.presses:
        driven, sensed = press.one_way or ("", "")
        add(
            press.start_us,
            "press",
            press.key,
            driven,
            sensed,
            "certain" if press.certain else "unsure",
            press.end_us,
            press.frame,
        )
    for edge in waves.edges:
        keys = " ".join(waves.layout.keys_at.get(frozenset((edge.driven, edge.sensed)), ()))
        value = "closed" if edge.closed else "open"
        add(edge.t_us, "transition", keys, edge.driven, edge.sensed, value, "", edge.frame)
    return [row for _, _, row in sorted(rows, key=lambda each: each[:2])]
