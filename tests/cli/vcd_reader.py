"""A small reader of value change dumps, written from IEEE 1364-2005 clause 18 and apart from the writer."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class Dump:
    """names: scope.name -> code. changes: code -> (time, value) in order. comments by time."""

    timescale: str = ""
    names: dict[str, str] = field(default_factory=dict)
    kinds: dict[str, str] = field(default_factory=dict)
    changes: dict[str, list[tuple[int, str]]] = field(default_factory=dict)
    comments: list[tuple[int, str]] = field(default_factory=list)
    end: int = 0

    def level_at(self, name: str, time: int) -> str:
        """Value of a wire at a time."""
        return [value for at, value in self.changes[self.names[name]] if at <= time][-1]


def read_vcd(text: str) -> Dump:
    """The dump; AssertionError where a rule of the format is broken."""
    dump = Dump()
    tokens = iter(text.split())
    scope: list[str] = []
    time, defined = 0, False
    for token in tokens:
        if token.startswith("$"):
            keyword = token[1:]
            if keyword in ("dumpvars", "end"):
                assert defined
                continue
            body: list[str] = []
            for word in tokens:
                if word == "$end":
                    break
                body.append(word)
            if keyword == "timescale":
                dump.timescale = " ".join(body)
            elif keyword == "scope":
                scope.append(body[1])
            elif keyword == "upscope":
                scope.pop()
            elif keyword == "var":
                kind, size, code, name = body
                assert size == "1" and code not in dump.changes and all(33 <= ord(letter) <= 126 for letter in code)
                full = ".".join((*scope, name))
                assert full not in dump.names
                dump.names[full], dump.kinds[full], dump.changes[code] = code, kind, []
            elif keyword == "enddefinitions":
                defined = True
            elif keyword == "comment" and defined:
                dump.comments.append((time, " ".join(body)))
        elif token.startswith("#"):
            assert int(token[1:]) > time or time == 0
            time = int(token[1:])
        else:
            value, code = token[0], token[1:]
            assert defined and value in "01x"
            dump.changes[code].append((time, value))
    dump.end = time
    return dump
