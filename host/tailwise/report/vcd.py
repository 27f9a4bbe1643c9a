"""Waves as a value change dump, IEEE 1364-2005 clause 18, for any waveform viewer.

One wire for each key's crosspoint (either direction of drive) in scope `keys`, one for each pair of lines that ever
read closed, by direction of drive, in scope `pairs`; 1 closed, 0 open, x not known. An event `mark` fires at each mark
and a comment beside it says what was done. The time unit is 1 us of run time.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from tailwise.model.mark import Mark
from tailwise.report.moments import Wire, moments, points_of
from tailwise.report.waves import Level, Waves

_CODES = [chr(code) for code in range(33, 127)]
_MARK = _CODES[0]


def vcd_text(waves: Waves) -> str:
    """The whole dump, ASCII."""
    wires: list[Wire] = [*points_of(waves), *waves.pairs]
    codes = {wire: _code(place) for place, wire in enumerate(wires, start=1)}
    return "\n".join((*_header(waves, codes), *_changes(waves, codes))) + "\n"


def _header(waves: Waves, codes: dict[Wire, str]) -> Iterator[str]:
    yield f"$date {_plain(waves.created) or '-'} $end"
    yield f"$version {_plain(waves.tool) or 'tailwise'} $end"
    yield f"$comment layout {_plain(waves.layout.id)}; label {_plain(waves.label) or '-'} $end"
    yield "$timescale 1 us $end"
    keys: dict[Wire, str] = {point: "_".join(ids) for point, ids in points_of(waves).items()}
    pairs: dict[Wire, str] = {pair: f"{pair[0]}_to_{pair[1]}" for pair in waves.pairs}
    for scope, wires in (("keys", keys), ("pairs", pairs)):
        taken: set[str] = set()
        yield f"$scope module {scope} $end"
        for wire, name in wires.items():
            yield f"$var wire 1 {codes[wire]} {_name(name, taken)} $end"
        yield "$upscope $end"
    yield "$scope module operator $end"
    yield f"$var event 1 {_MARK} mark $end"
    yield "$upscope $end"
    yield "$enddefinitions $end"


def _changes(waves: Waves, codes: dict[Wire, str]) -> Iterator[str]:
    yield "$dumpvars"
    yield from (f"x{code}" for code in codes.values())
    yield "$end"
    last = 0
    for moment in moments(waves):
        yield f"#{moment.t_us}"
        yield from (f"{_digit(level)}{codes[wire]}" for wire, level in moment.levels.items())
        for mark in moment.marks:
            yield f"1{_MARK}"
            yield f"$comment {_said(mark)} $end"
        last = moment.t_us
    if waves.end_us > last:
        yield f"#{waves.end_us}"


def _digit(level: Level) -> str:
    return "x" if level is None else str(int(level))


def _code(number: int) -> str:
    """A short identifier of printable characters, another one for each number."""
    code = _CODES[number % len(_CODES)]
    return code if number < len(_CODES) else _code(number // len(_CODES) - 1) + code


def _name(text: str, taken: set[str]) -> str:
    """A name viewers take: letters, digits and underscores, not beginning with a digit, unique in its scope."""
    name = re.sub(r"[^A-Za-z0-9_]", "_", text) or "_"
    if name[0].isdigit():
        name = f"k{name}"
    while name in taken:
        name += "_"
    taken.add(name)
    return name


def _plain(text: str) -> str:
    """Text for a comment: ASCII, no keyword in it, one line."""
    return " ".join(text.encode("ascii", "replace").decode("ascii").replace("$", "S").split())


def _said(mark: Mark) -> str:
    return _plain(" ".join(part for part in (mark.do.value, mark.key, mark.zone, mark.tail, mark.text) if part))
