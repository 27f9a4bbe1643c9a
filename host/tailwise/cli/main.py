"""Entry point: finds the command, runs it, turns a wrong call into exit code 2.

Every module under `cli.commands` is a command; a new file there is a new command. Two-word commands (`layouts check`)
carry both words in NAME. Command modules import only argparse and words at the top, the rest inside `run`.
"""

from __future__ import annotations

import argparse
import importlib
import io
import os
import pkgutil
import sys
from collections.abc import Callable, Sequence
from typing import Protocol, cast

from tailwise import __version__
from tailwise.cli import commands, exits
from tailwise.words import commands as words


class Command(Protocol):
    """What a module under `cli.commands` offers."""

    NAME: str
    HELP: str
    options: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace], int]


def find_commands() -> dict[str, Command]:
    """Every command by name."""
    modules = (importlib.import_module(f"{commands.__name__}.{info.name}") for info in pkgutil.iter_modules(commands.__path__))
    found = [cast(Command, module) for module in modules]
    return {command.NAME: command for command in sorted(found, key=lambda command: command.NAME)}


def make_parser(known: dict[str, Command]) -> argparse.ArgumentParser:
    """The parser of all commands."""
    parser = argparse.ArgumentParser(prog="tailwise", description=words.PROGRAM, epilog=words.EPILOG)
    parser.add_argument("--version", action="version", version=f"tailwise {__version__}")
    subparsers = parser.add_subparsers(title="commands", metavar="COMMAND")
    for name, command in known.items():
        sub = subparsers.add_parser(name, help=command.HELP, description=command.HELP)
        command.options(sub)
        sub.set_defaults(run=command.run)
    return parser


def joined(arguments: Sequence[str], known: dict[str, Command]) -> list[str]:
    """Arguments with a two-word command made one argument."""
    first = " ".join(arguments[:2])
    return [first, *arguments[2:]] if " " in first and first in known else list(arguments)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the program; gives the exit code."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")
    known = find_commands()
    given = list(sys.argv[1:] if arguments is None else arguments)
    parsed = make_parser(known).parse_args(joined(given, known))
    run: Callable[[argparse.Namespace], int] = getattr(parsed, "run", _app)
    try:
        return run(parsed)
    except BrokenPipeError:
        # The reader of the output is gone; keep the interpreter from complaining when it flushes at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return exits.CALL
    except (ValueError, OSError) as error:
        from tailwise.cli.problems import problem_text

        text = problem_text(error)
        if text is None:
            raise
        print(text, file=sys.stderr)
        return exits.CALL
    except KeyboardInterrupt:
        return exits.INTERRUPTED


def _app(parsed: argparse.Namespace) -> int:
    from tailwise.cli.app import open_app

    return open_app()
