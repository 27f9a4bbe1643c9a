"""Drawings of the page as SVG: the key map, and the route of a line with the place of its fault.

Every state is a symbol and a word beside its shade, so that the page can be read in grey and without seeing colour.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Any

from tailwise.model.layout import Layout
from tailwise.report.facts import ReportFacts
from tailwise.words import report as words

UNIT = 52.0
PAD = 2.0
FILL = {
    "works": "#ffffff",
    "silent": "#3a3a3a",
    "flickers": "#f4d6a0",
    "weak": "#fbf0d0",
    "stuck": "#6b2d5c",
    "doubtful": "#dbe4ee",
    "untried": "#efefef",
}
INK = {"silent": "#ffffff", "stuck": "#ffffff"}


def _text(parent: ET.Element, x: float, y: float, size: float, content: str, **attributes: str) -> None:
    element = ET.SubElement(
        parent, "text", {"x": f"{x:.1f}", "y": f"{y:.1f}", "font-size": f"{size:.1f}", "text-anchor": "middle", **attributes}
    )
    element.text = content


def _fit(content: str, width: float, size: float) -> tuple[str, float]:
    """The text cut and the size shrunk so that it stays inside `width` pixels."""
    shown = content if len(content) <= 14 else content[:13] + "…"
    return shown, max(5.0, min(size, 1.55 * width / max(1, len(shown))))


def key_map(facts: ReportFacts) -> str:
    """The keyboard with every key's state."""
    keys = facts.layout.keys
    if not keys:
        return ""
    left = min(key.position.x for key in keys)
    top = min(key.position.y for key in keys)
    width = (max(key.position.x + key.position.width for key in keys) - left) * UNIT
    height = (max(key.position.y + key.position.height for key in keys) - top) * UNIT
    root = ET.Element("svg", {"viewBox": f"0 0 {width:.0f} {height:.0f}", "role": "img", "class": "keymap"})
    ET.SubElement(root, "title").text = "Key map"
    for key in keys:
        fact = facts.keys[key.id]
        at = key.position
        x, y = (at.x - left) * UNIT + PAD, (at.y - top) * UNIT + PAD
        wide, high = at.width * UNIT - 2 * PAD, at.height * UNIT - 2 * PAD
        group = ET.SubElement(root, "g")
        if at.rotation:
            group.set("transform", f"rotate({at.rotation:g} {x + wide / 2:.1f} {y + high / 2:.1f})")
        ET.SubElement(group, "title").text = f"{key.id}: {words.STATE_WORD[fact.state]}, {fact.presses} presses"
        box = {"x": f"{x:.1f}", "y": f"{y:.1f}", "width": f"{wide:.1f}", "height": f"{high:.1f}", "rx": "5"}
        dash = {"stroke-dasharray": "4 3"} if fact.state in ("untried", "flickers") else {}
        stroke = "3" if fact.state not in ("works", "untried") else "1.2"
        ET.SubElement(group, "rect", {**box, "fill": FILL[fact.state], "stroke": "#222222", "stroke-width": stroke, **dash})
        ink = INK.get(fact.state, "#111111")
        legend, size = _fit(key.legend, wide, 15)
        _text(group, x + wide / 2, y + 18, size, legend, fill=ink)
        word = words.STATE_WORD[fact.state]
        _text(group, x + wide / 2, y + 34, 13, words.STATE_SYMBOL[fact.state], fill=ink)
        shown, size = _fit(word, wide, 8.5)
        _text(group, x + wide / 2, y + 44, size, shown, fill=ink)
    return ET.tostring(root, encoding="unicode")


def route_drawing(layout: Layout, finding: dict[str, Any]) -> str:
    """The faulty line's route from the tail, the fault's stretch broken and marked; empty without a route."""
    place = finding.get("place")
    if not place or not layout.routes or place["line"] not in layout.routes:
        return ""
    stops = layout.routes[place["line"]]
    if not stops:
        return ""
    depth: dict[str | None, int] = {None: 0}
    lane: dict[str | None, int] = {None: 0}
    lanes = 1
    taken: set[str | None] = set()
    for stop in stops:
        depth[stop.key] = depth[stop.origin] + 1
        if stop.origin in taken:
            lane[stop.key] = lanes
            lanes += 1
        else:
            lane[stop.key] = lane[stop.origin]
        taken.add(stop.origin)
    step, rise = 74.0, 44.0
    width, height = (max(depth.values()) + 1) * step, lanes * rise + 16
    root = ET.Element("svg", {"viewBox": f"0 0 {width:.0f} {height:.0f}", "role": "img", "class": "route"})
    root.set("style", f"max-width:{width:.0f}px")
    ET.SubElement(root, "title").text = f"Route of line {place['line']}"

    def at(key: str | None) -> tuple[float, float]:
        return depth[key] * step + step / 2, lane[key] * rise + 22

    for stop in stops:
        (x1, y1), (x2, y2) = at(stop.origin), at(stop.key)
        broken = stop.key == place["before"]
        attributes = {"stroke": "#111111", "stroke-width": "2.5", "fill": "none", "d": f"M{x1} {y1}L{x1} {y2}L{x2} {y2}"}
        if broken:
            attributes["stroke-dasharray"] = "5 6"
        ET.SubElement(root, "path", attributes)
        if broken:
            _text(root, (x1 + x2) / 2, y2 - 7, 15, "✕", fill="#8a1c1c", **{"font-weight": "bold"})
    for key in (None, *(stop.key for stop in stops)):
        x, y = at(key)
        circle = {"cx": f"{x:.0f}", "cy": f"{y:.0f}", "r": "6", "fill": "#ffffff", "stroke": "#111111", "stroke-width": "2"}
        ET.SubElement(root, "circle", circle)
        shown, size = _fit("tail" if key is None else key, step - 8, 11)
        halo = {"stroke": "#ffffff", "stroke-width": "3", "paint-order": "stroke"}
        _text(root, x, y + 19, size, shown, **halo)
    return ET.tostring(root, encoding="unicode")


def histogram(facts: ReportFacts) -> str:
    """Loop resistances by decade and a half, as bars; empty where nothing was measured."""
    values = [fact.loop_ohm for fact in facts.keys.values() if fact.loop_ohm is not None]
    if not values:
        return ""
    edges = (0, 30, 100, 300, 1000, 3000, 10_000)
    names = ("< 30", "30–100", "100–300", "300–1k", "1k–3k", "3k–10k", "> 10k")
    counts = [0] * len(names)
    for value in values:
        counts[sum(1 for edge in edges[1:] if value >= edge)] += 1
    width, height, most = 64.0, 90.0, max(counts)
    root = ET.Element("svg", {"viewBox": f"0 0 {width * len(names):.0f} 130", "role": "img", "class": "histogram"})
    ET.SubElement(root, "title").text = "Keys by loop resistance in ohms"
    for index, (name, count) in enumerate(zip(names, counts, strict=True)):
        high = height * count / most
        bar = {"x": f"{index * width + 8:.0f}", "y": f"{height - high + 14:.1f}", "width": "48", "height": f"{high:.1f}"}
        ET.SubElement(root, "rect", {**bar, "fill": "#5a6b7b"})
        _text(root, index * width + 32, height - high + 10, 11, str(count))
        _text(root, index * width + 32, 122, 10, name)
    return ET.tostring(root, encoding="unicode")
