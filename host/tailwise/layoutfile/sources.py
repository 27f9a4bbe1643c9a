"""The `sources` and `disagreements` of a layout file."""

from __future__ import annotations

import yaml

from tailwise.layoutfile.nodes import Mapping, nearest, words
from tailwise.model.layout import Disagreement, Source


def read_sources(top: Mapping, *, required: bool) -> tuple[Source, ...]:
    """Where the facts come from."""
    sources = []
    for index, node in enumerate(top.sequence("sources", required=required)):
        item = Mapping(node, top.problems, f"sources[{index}]", ("facts", "source", "checked_against", "assumed"))
        given = isinstance(node, yaml.MappingNode)
        facts, source = item.text("facts", required=given), item.text("source", required=given)
        sources.append(Source(facts or "", source or "", item.text("checked_against"), item.flag("assumed", False)))
    if required and not sources and isinstance(top.get("sources"), yaml.SequenceNode):
        top.problems.add(top.get("sources"), "sources", "name at least one source")
    return tuple(sources)


def read_disagreements(top: Mapping, keys: list[str]) -> tuple[Disagreement, ...]:
    """Where the sources differ."""
    result = []
    for index, node in enumerate(top.sequence("disagreements")):
        item = Mapping(node, top.problems, f"disagreements[{index}]", ("about", "taken", "keys"))
        given = isinstance(node, yaml.MappingNode)
        names = []
        for place, each in enumerate(item.sequence("keys")):
            name = words(each)
            if name not in keys:
                hint = nearest(name or "", keys)
                top.problems.add(each, f"{item.path('keys')}[{place}]", f"unknown key {name}{hint}")
            names.append(name or "")
        about, taken = item.text("about", required=given), item.text("taken", required=given)
        result.append(Disagreement(about or "", taken or "", tuple(names)))
    return tuple(result)
