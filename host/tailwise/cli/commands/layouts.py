"""`tailwise layouts`: the shipped layouts, or one in full."""

from __future__ import annotations

import argparse
import json
import sys

from tailwise.words import commands as words

NAME = "layouts"
HELP = words.LAYOUTS


def options(parser: argparse.ArgumentParser) -> None:
    """One layout, or all."""
    parser.add_argument("layout", metavar="ID", nargs="?", help=words.LAYOUT)
    parser.add_argument("--json", action="store_true", help=words.JSON)


def run(arguments: argparse.Namespace) -> int:
    """Print."""
    from tailwise.layoutfile.library import find_layout, shipped_ids
    from tailwise.layoutfile.to_json import layout_json

    names = shipped_ids() if arguments.layout is None else [arguments.layout]
    layouts = [find_layout(name) for name in names]
    if arguments.json:
        values = [layout_json(layout) for layout in layouts]
        json.dump(values if arguments.layout is None else values[0], sys.stdout, indent=2, ensure_ascii=False)
        print()
        return 0
    for layout in layouts:
        print(words.layout_line(layout.id, layout.title, len(layout.keys), len(layout.rows), len(layout.columns)))
    if arguments.layout is not None:
        from tailwise.cli.layout_text import describe

        print(describe(layouts[0]))
    return 0
