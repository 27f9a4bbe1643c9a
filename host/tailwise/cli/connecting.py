"""The conversation of `tailwise connect`: asks on standard error, keeps what was found."""

from __future__ import annotations

import argparse
import json
import sys
import threading
from collections import deque

from tailwise.cli import exits
from tailwise.cli.learning import read_answers
from tailwise.cli.listening import listen
from tailwise.harness.store import forget_wiring, kept_wirings
from tailwise.layoutfile.library import find_layout
from tailwise.learn.assistant import ConnectionAssistant, Found
from tailwise.learn.settle import settle
from tailwise.live.run import Run
from tailwise.live.urls import PRACTICE
from tailwise.model.layout import Layout
from tailwise.recording.format import Record
from tailwise.words import connecting as words


class _Talk:
    """Asks, hears, and says each thing once."""

    def __init__(self, layout: Layout, lines: int, typed: deque[str]) -> None:
        """typed: first letters of what is typed."""
        self.assistant = ConnectionAssistant(layout, lines)
        self.typed = typed
        self.stopped = False
        self._said: set[str] = set()

    def hear(self, record: Record) -> None:
        """One record of the run."""
        self.assistant.hear(record)
        while self.typed:
            match self.typed.popleft():
                case "n":
                    self.assistant.nothing_happened()
                case "s":
                    self.assistant.skip()
                case "q":
                    self.stopped = True
        now = self.assistant.picture()
        if now.joined and not now.resting:
            self._once(words.joined(now.joined))
        if now.last is not None:
            self._once(words.saw(*now.last) + f"   [{now.presses}]")
        if now.uncertain:
            self._once(words.UNCERTAIN)
        if now.line_by_line:
            self._once(words.LINE_BY_LINE)
        if now.asking is not None:
            self._once(words.ask(now.asking) + f"   [{now.presses + 1}]")

    @property
    def over(self) -> bool:
        """Found, or told to stop."""
        return self.stopped or self.assistant.picture().found is not None

    def _once(self, text: str) -> None:
        if text not in self._said:
            self._said.add(text)
            print(text, file=sys.stderr, flush=True)


def connect(arguments: argparse.Namespace) -> int:
    """The whole command; gives the exit code."""
    if arguments.list or arguments.forget:
        return _kept(arguments)
    if arguments.port is None or arguments.layout is None:
        print(words.NEED_PORT, file=sys.stderr)
        return exits.CALL
    layout = find_layout(arguments.layout)
    typed: deque[str] = deque()
    talks: list[_Talk] = []

    def begin(lines: int) -> _Talk:
        talks.append(_Talk(layout, lines, typed))
        return talks[-1]

    threading.Thread(target=read_answers, args=(typed,), daemon=True).start()
    print(words.RESTING, words.BEGIN, sep="\n", file=sys.stderr)
    heard = listen(arguments.port, arguments.lines, begin, Run)
    found = talks[-1].assistant.picture().found
    if found is None:
        print(words.STOPPED, file=sys.stderr)
        return exits.UNTESTABLE if heard.refused else exits.UNPROVEN
    return _tell(arguments, found, heard.board)


def _tell(arguments: argparse.Namespace, found: Found, board: bytes) -> int:
    layout = find_layout(arguments.layout)
    settled = settle(found, layout, None if arguments.port.startswith(PRACTICE) else board)
    print(*settled.said, sep="\n", file=sys.stderr)
    if arguments.json:
        value = {
            "layout": layout.id,
            "way": found.how,
            "presses": found.presses,
            "right": found.right,
            "board_line": dict(sorted(found.board_line.items())),
            "unreached": sorted(found.unreached),
            "open_lines": sorted(found.open_lines),
            "kept": None if settled.kept is None else str(settled.kept),
        }
        print(json.dumps(value, indent=2, ensure_ascii=False))
    else:
        print(words.found(found.how, found.presses))
    if found.open_lines:
        return exits.UNPROVEN
    return exits.FAULTY if found.unreached else exits.SOUND


def _kept(arguments: argparse.Namespace) -> int:
    mine = [each for each in kept_wirings() if arguments.layout in (None, each.layout)]
    for each in mine:
        if arguments.forget:
            forget_wiring(each)
            print(words.forgotten(each.board, each.layout, each.how))
        else:
            print(words.kept_line(each.board, each.layout, each.how, each.kept))
    if not mine:
        print(words.NOTHING_KEPT, file=sys.stderr)
    return exits.SOUND
