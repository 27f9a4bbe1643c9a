"""What can end or interrupt a session; none of these leaves the room."""

from __future__ import annotations

from tailwise.words.live import Advice


class RunOver(Exception):
    """The run is to end: stop() was called or its seconds are over."""


class Unusable(Exception):
    """The run cannot go on: reason, likely cause, next step."""

    def __init__(self, advice: Advice) -> None:
        super().__init__(advice[0])
        self.advice = advice


class NoAnswer(Exception):
    """The board does not answer or fell silent. `reopen`: only opening the port anew may help."""

    def __init__(self, why: str, *, reopen: bool = False) -> None:
        super().__init__(why)
        self.reopen = reopen


class BoardStopped(Exception):
    """The board is not scanning any more and has to be configured again; `booted` where it forgot everything."""

    def __init__(self, why: str, *, booted: bool = False) -> None:
        super().__init__(why)
        self.why = why
        self.booted = booted
