"""The planted faults and the expected findings in a scenario file."""

from __future__ import annotations

import math
from dataclasses import replace

import yaml

from tailwise.layoutfile.nodes import Mapping, as_number, nearest
from tailwise.model.fault import Fault, FaultKind
from tailwise.model.layout import Layout
from tailwise.practice.naming import name_fault
from tailwise.practice.planted import Episodes, Planted
from tailwise.practice.slots import OPEN

NAMES = ("kind", "line", "lines", "key", "keys", "before")
PARAMETERS = (
    "ohm", "episodes", "miss", "drops_per_s", "drop_ms", "bounce_ms", "way", "by", "tail", "other_tail", "volts",
    "cured_by_reseating",
)  # fmt: skip
EPISODES = ("zone", "per_s_flexed", "per_s_still", "open_ms", "openings", "gap_ms", "start_s")
DEFAULT_OHM = {
    FaultKind.SHORT: 20.0,
    FaultKind.LEAK: 9_000.0,
    FaultKind.STUCK_CONTACT: 30.0,
    FaultKind.WEAK_CONTACT: 2_500.0,
    FaultKind.WEAK_LINE: 2_000.0,
    FaultKind.FOREIGN_VOLTAGE: 1_000.0,
}
TAIL_WAYS = ("reversed", "shifted", "swapped")
DIODE_WAYS = ("open", "shorted", "reversed")


def read_faults(top: Mapping, layout: Layout) -> tuple[Planted, ...]:
    """Every planted fault."""
    planted = (_planted(node, top, f"faults[{index}]", layout) for index, node in enumerate(top.sequence("faults")))
    return tuple(each for each in planted if each is not None)


def read_expected(top: Mapping, layout: Layout) -> tuple[Fault, ...]:
    """Every expected finding; `keys` and `lines` stand as written where they are written."""
    found: list[Fault] = []
    for index, node in enumerate(top.sequence("expect", required=True)):
        item = Mapping(node, top.problems, f"expect[{index}]", NAMES)
        fault = _fault(item, layout, intermittent=False)
        if fault is not None:
            found.append(fault)
    return tuple(found)


def _fault(item: Mapping, layout: Layout, *, intermittent: bool) -> Fault | None:
    lines = _known(item, "line", "lines", list(layout.lines))
    keys = _known(item, "key", "keys", list(layout.key_by_id))
    before = item.text("before")
    text = item.text("kind", required=True)
    kinds = [each.value for each in FaultKind]
    if text not in kinds:
        item.problems.add(item.get("kind"), item.path("kind"), f"unknown kind {text}{nearest(text or '', kinds)}")
        return None
    if before is not None and before not in layout.key_by_id:
        item.problems.add(item.get("before"), item.path("before"), f"unknown key {before}")
        return None
    try:
        return name_fault(layout, FaultKind(text), lines, keys, before, intermittent)
    except (ValueError, IndexError) as error:
        item.problems.add(item.node, item.where, str(error) if isinstance(error, ValueError) else "names no line")
        return None


def _known(item: Mapping, one: str, many: str, valid: list[str]) -> tuple[str, ...]:
    node = item.get(one)
    named = item.texts(many)
    if node is not None:
        named = [(item.text(one) or "", node), *named]
    for name, where in named:
        if name not in valid:
            item.problems.add(where, item.path(one), f"unknown {one} {name}{nearest(name, valid)}")
    return tuple(name for name, _ in named if name in valid)


def _planted(node: yaml.Node, top: Mapping, where: str, layout: Layout) -> Planted | None:
    item = Mapping(node, top.problems, where, (*NAMES, *PARAMETERS))
    episodes = _episodes(item, layout)
    fault = _fault(item, layout, intermittent=episodes is not None)
    if fault is None:
        return None
    cured = item.flag("cured_by_reseating", False)
    if fault.kind is FaultKind.INTERMITTENT_LINE and episodes is None and not cured:
        episodes = Episodes()
    ways = DIODE_WAYS if fault.kind is FaultKind.DIODE_FAULT else TAIL_WAYS
    way = item.text("way") or ""
    if way not in ("", *ways) or (not way and fault.kind in (FaultKind.DIODE_FAULT, FaultKind.TAIL_MISPLACED)):
        item.problems.add(item.get("way") or node, item.path("way"), f"expected one of {', '.join(ways)}")
    tails = [each.name for each in layout.tails or ()]
    for name in ("tail", "other_tail"):
        wanted = (name == "tail" and fault.kind is FaultKind.TAIL_MISPLACED) or (name == "other_tail" and way == "swapped")
        text = item.text(name, required=wanted)
        if text is not None and text not in tails:
            item.problems.add(item.get(name), item.path(name), f"unknown tail {text}{nearest(text, tails)}")
            return None
    ohm = _ohm(item)
    base = Planted(fault, DEFAULT_OHM.get(fault.kind, OPEN) if ohm is None else ohm, episodes, way=way)
    numbers = {name: item.number(name, low=0, high=1e6) for name in ("miss", "drops_per_s", "bounce_ms", "volts")}
    shift = item.number("by", low=-40, high=40)
    return replace(
        base,
        **{name: value for name, value in numbers.items() if value is not None},  # type: ignore[arg-type]
        cured_by_reseating=cured,
        drop_ms=_pair(item, "drop_ms") or base.drop_ms,
        by=0 if shift is None else int(shift),
        tail=item.text("tail"),
        other_tail=item.text("other_tail"),
    )


def _ohm(item: Mapping) -> float | None:
    if item.text("ohm") in (".inf", "open"):
        return math.inf
    return item.number("ohm", low=0.01, high=1e9)


def _episodes(item: Mapping, layout: Layout) -> Episodes | None:
    node = item.get("episodes")
    if node is None:
        return None
    inner = Mapping(node, item.problems, item.path("episodes"), EPISODES)
    zone = inner.text("zone")
    zones = [each.name for each in layout.zones]
    if zone is not None and zone not in zones:
        inner.problems.add(inner.get("zone"), inner.path("zone"), f"unknown zone {zone}{nearest(zone, zones)}")
    base = Episodes(zone)
    rates = {name: inner.number(name, low=0, high=600) for name in ("per_s_flexed", "per_s_still", "start_s")}
    return replace(
        base,
        **{name: value for name, value in rates.items() if value is not None},  # type: ignore[arg-type]
        open_ms=_pair(inner, "open_ms") or base.open_ms,
        gap_ms=_pair(inner, "gap_ms") or base.gap_ms,
        openings=_openings(inner) or base.openings,
    )


def _openings(item: Mapping) -> tuple[int, int] | None:
    pair = _pair(item, "openings")
    if pair is None:
        return None
    if pair[0] < 1 or pair[1] > 1000:
        item.problems.add(item.get("openings"), item.path("openings"), "expected [fewest, most] from 1 to 1000")
        return None
    return int(pair[0]), int(pair[1])


def _pair(item: Mapping, name: str) -> tuple[float, float] | None:
    if item.get(name) is None:
        return None
    low, high = (None if node is None else _number(node, item, name) for node in (*item.sequence(name), None, None)[:2])
    if low is None or high is None or low > high:
        item.problems.add(item.get(name), item.path(name), "expected two numbers, the smaller first")
        return None
    return low, high


def _number(node: yaml.Node, item: Mapping, name: str) -> float | None:
    return as_number(node, item.problems, item.path(name), 0, 1e6)
