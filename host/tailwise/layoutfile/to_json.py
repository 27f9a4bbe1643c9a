"""A layout as the object that `tailwise layouts ID --json` prints."""

from __future__ import annotations

from typing import Any

from tailwise.model.layout import Diode, Key, Layout, RouteStop, Source, Target


def layout_json(layout: Layout) -> dict[str, Any]:
    """The layout's facts in plain values; what the file leaves open is null. Positions are in key units."""
    return {
        "id": layout.id,
        "title": layout.title,
        "rows": list(layout.rows),
        "columns": list(layout.columns),
        "keys": [_key(key) for key in layout.keys],
        "tails": None if layout.tails is None else [{"name": tail.name, "lines": list(tail.lines)} for tail in layout.tails],
        "diodes": [_diode(diode) for diode in layout.diodes],
        "routes": None
        if layout.routes is None
        else {line: [_stop(stop) for stop in stops] for line, stops in layout.routes.items()},
        "zones": [zone.name for zone in layout.zones],
        "target": None if layout.target is None else _target(layout.target),
        "sources": [_source(source) for source in layout.sources],
    }


def _key(key: Key) -> dict[str, Any]:
    place = key.position
    return {
        "id": key.id,
        "legend": key.legend,
        "row": key.row,
        "column": key.column,
        "position": {"x": place.x, "y": place.y, "width": place.width, "height": place.height},
    }


def _diode(diode: Diode) -> dict[str, str | None]:
    return {"line": diode.line} if diode.line is not None else {"key": diode.key}


def _stop(stop: RouteStop) -> dict[str, Any]:
    return {"key": stop.key, "from": stop.origin, "mm": stop.mm}


def _target(target: Target) -> dict[str, Any]:
    return {
        "supply_v": target.supply_v,
        "pullup_ohm": target.pullup_ohm,
        "vil_v": target.vil_v,
        "vol_v": target.vol_v,
        "diode_v": target.diode_v,
        "about": target.about,
    }


def _source(source: Source) -> dict[str, Any]:
    return {
        "facts": source.facts,
        "source": source.source,
        "checked_against": source.checked_against,
        "assumed": source.assumed,
    }
