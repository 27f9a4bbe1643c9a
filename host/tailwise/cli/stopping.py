"""An interrupt from the keyboard ends the run in good order; a second one ends the program."""

from __future__ import annotations

import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

from tailwise.words import commands as words


@contextmanager
def stopped_by_signals(stop: Callable[[], None]) -> Iterator[None]:
    """While inside, SIGINT and SIGTERM call `stop`."""

    def handle(number: int, frame: FrameType | None) -> None:
        signal.signal(number, previous[number])
        print("\n" * sys.stderr.isatty() + words.INTERRUPTED, file=sys.stderr)
        stop()

    previous: dict[int, Any] = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)}
    for number in previous:
        signal.signal(number, handle)
    try:
        yield
    finally:
        for number, handler in previous.items():
            signal.signal(number, handler)
