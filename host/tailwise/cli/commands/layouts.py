"""`tailwise layouts`: the shipped layouts and the user's own, or one in full."""

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
    from tailwise.layoutfile.nodes import FileProblems
    from tailwise.layoutfile.own import own_ids
    from tailwise.layoutfile.to_json import layout_json

    own = [name for name in own_ids() if name not in shipped_ids()]
    names = [*shipped_ids(), *own] if arguments.layout is None else [arguments.layout]
    layouts = {}
    for name in names:
        try:
            layouts[name] = find_layout(name)
        except FileProblems as error:
            if name not in own:
                raise
            print(error, file=sys.stderr)
    if arguments.json:
        values = [layout_json(layout) for layout in layouts.values()]
        json.dump(values if arguments.layout is None else values[0], sys.stdout, indent=2, ensure_ascii=False)
        print()
        return 0
    for name, layout in layouts.items():
        mark = words.OWN_LAYOUT if name in own else ""
        print(words.layout_line(layout.id, layout.title, len(layout.keys), len(layout.rows), len(layout.columns)) + mark)
    if arguments.layout is not None:
        from tailwise.cli.layout_text import describe

        print(describe(layouts[names[0]]))
    return 0
