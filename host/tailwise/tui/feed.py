"""The run off the screen's thread: iterates the run's events and hands them over as messages.

Only the newest look at the board waits to be shown: while one is on its way to the screen, newer ones replace it. Counts in
a look are totals, so nothing is lost by that, and a slow terminal never holds up reading or recording.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from typing import Protocol

from textual.message import Message

from tailwise.live.events import LiveEvent, Progress
from tailwise.model.mark import Deed
from tailwise.model.observation import Pair


class AnyRun(Protocol):
    """What the app needs of a run."""

    def events(self) -> Iterator[LiveEvent]:
        """Run from opening to the end."""

    def stop(self) -> None:
        """End soon."""

    def add_mark(
        self,
        do: Deed,
        *,
        key: str | None = None,
        zone: str | None = None,
        tail: str | None = None,
        text: str | None = None,
        at_us: int | None = None,
    ) -> None:
        """Write a mark."""

    def watch(self, pairs: Sequence[Pair]) -> None:
        """Watch pairs (sensed, driven) without pause from now on; none for the matrix."""

    def document(self) -> dict[str, object]:
        """The findings so far."""


class Told(Message):
    """The run told something other than a look at the board."""

    def __init__(self, event: LiveEvent) -> None:
        super().__init__()
        self.event = event


class Looked(Message):
    """There is a newer look at the board: fetch it with `RunFeed.newest`."""


class RunFeed:
    """One run and its way to the screen."""

    def __init__(self, run: AnyRun, post: Callable[[Message], object]) -> None:
        self.run = run
        self._post = post
        self._lock = threading.Lock()
        self._newest: Progress | None = None

    def work(self) -> None:
        """Run to the end; called in a worker thread."""
        for event in self.run.events():
            if isinstance(event, Progress):
                self._offer(event)
            else:
                self._post(Told(event))

    def newest(self) -> Progress | None:
        """Take the newest look; None where it was taken already."""
        with self._lock:
            newest, self._newest = self._newest, None
        return newest

    def _offer(self, progress: Progress) -> None:
        with self._lock:
            on_its_way, self._newest = self._newest is not None, progress
        if not on_its_way:
            self._post(Looked())
