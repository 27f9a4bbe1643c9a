"""The smaller parts of a layout file: tails, diodes, target, limits, zones."""

from __future__ import annotations

import yaml

from tailwise.layoutfile.nodes import Mapping, nearest, words
from tailwise.model.layout import Diode, Limits, Tail, Target, Zone


def read_tails(top: Mapping, lines: list[str]) -> tuple[Tail, ...] | None:
    """The tails, None where the file does not say how the lines leave the keyboard."""
    if top.get("tails") is None:
        return None
    tails: list[Tail] = []
    taken: set[str] = set()
    for index, node in enumerate(top.sequence("tails")):
        item = Mapping(node, top.problems, f"tails[{index}]", ("name", "contacts", "pitch_mm"))
        contacts: list[str | None] = []
        for place, contact in enumerate(item.sequence("contacts", required=isinstance(node, yaml.MappingNode))):
            name = words(contact)
            where = f"{item.path('contacts')}[{place}]"
            if not isinstance(contact, yaml.ScalarNode):
                top.problems.add(contact, where, "expected the name of a line, or null for a contact without one")
            elif name is not None and name not in lines:
                top.problems.add(contact, where, f"unknown line {name}{nearest(name, lines)}")
            elif name is not None and name in taken:
                top.problems.add(contact, where, f"line {name} stands on two contacts")
            taken |= {name} if name is not None else set()
            contacts.append(name)
        name = item.text("name", required=isinstance(node, yaml.MappingNode)) or ""
        if name and name in [tail.name for tail in tails]:
            top.problems.add(item.get("name"), item.path("name"), f"tail {name} stands twice")
        tails.append(Tail(name, tuple(contacts), item.number("pitch_mm", low=0.1, high=10)))
    return tuple(tails)


def read_diodes(top: Mapping, lines: list[str], keys: list[str]) -> tuple[Diode, ...]:
    """The diodes of lines and of keys."""
    diodes: list[Diode] = []
    for index, node in enumerate(top.sequence("diodes")):
        item = Mapping(node, top.problems, f"diodes[{index}]", ("line", "key", "conducts", "cathode"))
        line, key = item.text("line"), item.text("key")
        if (line is None) == (key is None):
            top.problems.add(node, item.where, "expected either `line` or `key`")
            continue
        if line is not None and line not in lines:
            top.problems.add(item.get("line"), item.path("line"), f"unknown line {line}{nearest(line, lines)}")
        if key is not None and key not in keys:
            top.problems.add(item.get("key"), item.path("key"), f"unknown key {key}{nearest(key, keys)}")
        name, valid = ("conducts", ("to_tail", "from_tail")) if line is not None else ("cathode", ("row", "column"))
        way = item.text(name, required=True) or valid[0]
        if way not in valid:
            top.problems.add(item.get(name), item.path(name), f"expected {valid[0]} or {valid[1]}")
        if any((each.line, each.key) == (line, key) for each in diodes):
            top.problems.add(node, item.where, f"a second diode for {line or key}")
        diodes.append(Diode(line, key, way))
    return tuple(diodes)


def read_target(top: Mapping) -> Target | None:
    """The computer's inputs, volts and ohms."""
    node = top.get("target")
    if node is None:
        return None
    item = Mapping(node, top.problems, "target", ("supply_v", "pullup_ohm", "vil_v", "vol_v", "diode_v", "about"))
    values = {
        name: item.number(name, low=low, high=high)
        for name, low, high in (
            ("supply_v", 1, 30), ("pullup_ohm", 10, 1e7), ("vil_v", 0.05, 30), ("vol_v", 0, 5), ("diode_v", 0, 2)
        )
    }  # fmt: skip
    for name in ("supply_v", "pullup_ohm", "vil_v"):
        if item.get(name) is None and isinstance(node, yaml.MappingNode):
            top.problems.add(node, item.path(name), "missing")
    supply, vil, vol, diode = values["supply_v"], values["vil_v"], values["vol_v"] or 0.0, values["diode_v"] or 0.0
    if supply is not None and vil is not None and vil >= supply:
        top.problems.add(node, "target.vil_v", "must be below supply_v")
    if vil is not None and vol + diode >= vil:
        top.problems.add(node, "target", "vol_v and diode_v together reach vil_v, so that no contact could be read")
    return Target(supply or 5.0, values["pullup_ohm"] or 10e3, vil or 0.8, vol, diode, item.text("about") or "")


def read_limits(top: Mapping) -> Limits | None:
    """The file's own limits, None where the usual ones of its kind hold."""
    node = top.get("limits")
    if node is None:
        return None
    item = Mapping(node, top.problems, "limits", ("good_ohm", "most_ohm", "bounce_ms"))
    values = [item.number(name, low=0.01, high=1e6) for name in ("good_ohm", "most_ohm", "bounce_ms")]
    for name in ("good_ohm", "most_ohm", "bounce_ms"):
        if item.get(name) is None and isinstance(node, yaml.MappingNode):
            top.problems.add(node, item.path(name), "missing")
    good, most, bounce = (1.0 if value is None else value for value in values)
    if None not in values and most < good:
        top.problems.add(node, "limits.most_ohm", "must not be below good_ohm")
    return Limits(good, most, bounce)


def read_zones(top: Mapping) -> tuple[Zone, ...]:
    """The zones to flex."""
    zones: list[Zone] = []
    for index, node in enumerate(top.sequence("zones")):
        item = Mapping(node, top.problems, f"zones[{index}]", ("name", "reachable"))
        name = item.text("name", required=isinstance(node, yaml.MappingNode)) or ""
        if name and name in [zone.name for zone in zones]:
            top.problems.add(item.get("name"), item.path("name"), f"zone {name} stands twice")
        zones.append(Zone(name, item.flag("reachable", True)))
    return tuple(zones)
