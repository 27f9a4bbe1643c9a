"""The operator's script in a scenario file."""

from __future__ import annotations

import yaml

from tailwise.layoutfile.nodes import Mapping, nearest, words
from tailwise.model.layout import Layout
from tailwise.practice.operator import Flex, Hold, Press, Release, Reseat, Restart, Step, Still, Unplug

DEEDS = ("press", "hold", "release", "flex", "still", "reseat", "unplug", "restart")
_MORE = {"press": ("times", "rounds"), "flex": ("s",)}
_LONGEST_S = 600.0


def read_script(top: Mapping, layout: Layout) -> tuple[Step, ...]:
    """Every step, in order."""
    steps: list[Step] = []
    for index, node in enumerate(top.sequence("operator")):
        where = f"operator[{index}]"
        named = [deed for deed in DEEDS if deed in Mapping(node, top.problems, where).items]
        if len(named) != 1:
            top.problems.add(node, where, f"expected one of {', '.join(DEEDS)}")
            continue
        step = _step(Mapping(node, top.problems, where, (named[0], *_MORE.get(named[0], ()))), named[0], layout)
        if step is not None:
            steps.append(step)
    return tuple(steps)


def _step(item: Mapping, deed: str, layout: Layout) -> Step | None:
    match deed:
        case "press":
            times, rounds = item.number("times", low=1, high=50), item.number("rounds", low=1, high=50)
            return Press(_keys(item, deed, layout), int(times or 1), int(rounds or 1))
        case "hold":
            return Hold(_keys(item, deed, layout))
        case "release":
            return Release(_keys(item, deed, layout))
        case "flex":
            zone = item.text("flex", required=True) or ""
            zones = [each.name for each in layout.zones]
            if zone not in zones:
                item.problems.add(item.get("flex"), item.path("flex"), f"unknown zone {zone}{nearest(zone, zones)}")
            return Flex(zone, item.number("s", low=0, high=_LONGEST_S) or 1.0)
        case "still":
            return Still(item.number("still", low=0, high=_LONGEST_S) or 1.0)
        case "unplug":
            return Unplug(item.number("unplug", low=0, high=_LONGEST_S) or 1.0)
        case "restart":
            if not item.flag("restart", False):
                item.problems.add(item.get("restart"), item.path("restart"), "expected true")
            return Restart()
        case _:
            tail = item.text("reseat", required=True)
            tails = [each.name for each in layout.tails or ()]
            if tail == "all":
                return Reseat(None)
            if tail not in tails:
                item.problems.add(item.get("reseat"), item.path("reseat"), f"unknown tail {tail}{nearest(tail or '', tails)}")
            return Reseat(tail)


def _keys(item: Mapping, name: str, layout: Layout) -> tuple[str, ...]:
    """One key, a list of keys, or `all` (an empty tuple), which a key named `all` cannot shadow in a list."""
    node = item.get(name)
    if isinstance(node, yaml.ScalarNode):
        word = words(node) or ""
        named = [] if word == "all" and name != "hold" else [(word, node)]
    else:
        named = [(text, each) for text, each in item.texts(name, required=True) if isinstance(each, yaml.ScalarNode)]
    for key, each in named:
        if key not in layout.key_by_id:
            item.problems.add(each, item.path(name), f"unknown key {key}{nearest(key, list(layout.key_by_id))}")
    return tuple(key for key, _ in named if key in layout.key_by_id)
