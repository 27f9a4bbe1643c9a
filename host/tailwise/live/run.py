"""A run: joins a link, a recording and the judge, and tells a face what happens.

One thread iterates `events()`: it opens the link, talks to the board, writes the recording and feeds the judge. Any
other thread may call the remaining methods at any time; they never block on the board.
"""

from __future__ import annotations

import errno
import os
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from threading import Event
from typing import Any, Protocol

from tailwise import __version__
from tailwise.diagnose.priors import DEFAULT_PRIORS, Priors
from tailwise.harness.store import kept_wiring
from tailwise.harness.wiring import Wiring, WiringError, checked_wiring, plain_wiring
from tailwise.judge.document import to_bytes
from tailwise.link.base import Link, LinkEnded, LinkRefused
from tailwise.link.replay import ReplayLink
from tailwise.live.events import Connecting, Finished, LiveEvent, MarkMade, Progress, Refused
from tailwise.live.folder import free_name
from tailwise.live.following import Following
from tailwise.live.session import Session
from tailwise.live.tape import Tape
from tailwise.live.trouble import RunOver, Unusable
from tailwise.live.urls import PRACTICE, open_link
from tailwise.live.watch import MATRIX, WatchRequest
from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Pair
from tailwise.recording.format import Changed, Ended, Header, Marked, Record
from tailwise.verdict.rubric import Rubric
from tailwise.wire.messages import Identity
from tailwise.words import live as words

_Asked = Mark | Changed


class Opener(Protocol):
    """Makes the link of a URL, as `live.urls.open_link` does."""

    def __call__(self, url: str, *, realtime: bool = False) -> Link:
        """Open it."""
        ...


@dataclass(frozen=True)
class RunSettings:
    """What a run is about.

    url: device path or name, pyserial URL, `practice:SCENARIO` or `replay:RECORDING`. record: a new file, or a folder
    in which the run chooses a free name; None records nothing on disk. marks: replace those of a practice scenario.
    seconds: ends the run that long after the first start, in board time; None: until stop() or the link's own end.
    realtime: practice at the pace of the clock on the wall instead of as fast as it goes. progress_hz: most Progress
    events a second of the link's time, 0 for none. regain_s: how long a lost link is waited for, None: until stop().
    wiring: None takes the one kept for this board and layout, else a plain harness. rubric, priors: a shop's own.
    heard: called in the run's own thread with every record, for those who learn from the raw readings.
    """

    url: str
    layout: Layout
    label: str = ""
    record: Path | None = None
    marks: tuple[Mark, ...] | None = None
    every_key_pressed: bool = False
    seconds: float | None = None
    wiring: Wiring | None = None
    rubric: Rubric | None = None
    priors: Priors = DEFAULT_PRIORS
    realtime: bool = False
    progress_hz: float = 20.0
    regain_s: float | None = 15.0
    heard: Callable[[Record], None] | None = None


class Run:
    """One run on one board. `events()` runs it; the other methods may be called from any thread."""

    def __init__(self, settings: RunSettings, opener: Opener = open_link) -> None:
        """Nothing is opened yet. `opener` makes the link of the settings' URL."""
        self.settings = settings
        self._opener = opener
        self._link: Link | None = None
        self._session: Session | Following | None = None
        self._tape = self._new_tape(None, None)
        self._asked: deque[_Asked] = deque()
        self._file_marks = deque(sorted(settings.marks or (), key=lambda mark: mark.at_us))
        self._stopping = Event()
        self._progress_at_us = 0
        self._request = MATRIX

    @property
    def recording(self) -> Path | None:
        """The file that holds the run, once it is there."""
        return self._tape.path

    @property
    def run_us(self) -> int | None:
        """Run time now, in microseconds of the board since the acknowledged start; None before the first start."""
        link, session = self._link, self._session
        return None if link is None or session is None else session.clock.at(link.now_us())

    def events(self) -> Iterator[LiveEvent]:
        """Run from opening to Finished. Blocks; call it once, from a worker thread.

        Everything that can go wrong with the board or the port comes as an event and never as an exception. What is
        wrong with the call comes as an exception before anything is opened: UrlError, FileProblems, RecordingError,
        WiringError, FileExistsError and OSError of the recording's own file.
        """
        path = self._record_path()
        try:
            link = self._opener(self.settings.url, realtime=self.settings.realtime)
        except LinkRefused as error:
            yield Refused(error.reason, error.likely, error.next_step)
            yield self._finished()
            return
        try:
            self._tape = self._new_tape(link, path)
            self._session = session = self._new_session(link)
            if isinstance(session, Session):
                session.choose(self._request)
            self._link = link
            yield Connecting(self.settings.url)
            yield from self._guarded(link, self._session)
            yield from self._closing(link)
            yield self._finished()
        finally:
            link.close()
            self._tape.close()

    def stop(self) -> None:
        """End the run soon: the board is stopped, what there is is judged, Finished comes."""
        self._stopping.set()

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
        """Mark what the operator does now (or did at run time `at_us`); before the start it counts as at 0."""
        when = self.run_us if at_us is None else at_us
        self._asked.append(Mark(max(0, when or 0), do, key, zone, tail, text))

    def watch(self, pairs: Sequence[Pair], switched: bool = True) -> None:
        """Watch one or two pairs, as (sensed line, driven line), without pause from now on; no pairs: the matrix.

        A board that cannot goes on with its matrix; a Watching event says what became of it. Asked for before the start it
        holds from the start on. Replays follow their own recording. switched: on the switched pull-up of 10 kohm or less.
        """
        self._choose(WatchRequest(tuple(pairs), switched) if pairs else MATRIX)

    def matrix(self) -> None:
        """Go back to scanning every line against every line."""
        self._choose(MATRIX)

    def _choose(self, request: WatchRequest) -> None:
        self._request = request
        if isinstance(self._session, Session):
            self._session.choose(request)

    def set_label(self, label: str) -> None:
        """Name the keyboard, also after the start."""
        self._asked.append(Changed(0, label=label))

    def state_every_key_pressed(self, stated: bool = True) -> None:
        """State that the operator pressed every key at least once (or take that back)."""
        self._asked.append(Changed(0, every_key_pressed=stated))

    def document(self) -> dict[str, Any]:
        """The findings so far: the judgement of the recording as it stands at this moment."""
        return self._tape.document()

    # The run's own thread

    def _guarded(self, link: Link, session: Session | Following) -> Iterator[LiveEvent]:
        """The session to its end, whatever ends it."""
        try:
            yield from session.run()
        except RunOver:
            session.stop()
        except LinkEnded:
            return
        except Unusable as error:
            yield Refused(*error.advice)
            if link.replays:
                return
            session.stop()

    def _new_session(self, link: Link) -> Session | Following:
        settings = self.settings
        wiring = self._wiring(link) or plain_wiring(settings.layout)
        if isinstance(link, ReplayLink):
            self._tape.settle(None)
            return Following(link, wiring, self._add, self._between, marks=settings.marks is None)
        return Session(link, settings.layout, wiring, self._add, self._between, settings.regain_s, self._kept)

    def _kept(self, identity: Identity) -> tuple[Wiring, str] | None:
        """The wiring kept for this board; never where one was given, nor on the practice bench, whose board is everyone's."""
        settings = self.settings
        try:
            mine = settings.wiring is None and not settings.url.startswith(PRACTICE)
            found = kept_wiring(identity.unique_id, settings.layout) if mine else None
        except WiringError as error:
            raise Unusable(words.bad_kept_wiring(str(error))) from error
        self._tape.settle(None if found is None else replace(self._header(self._link), wiring=dict(found[0].board_line)))
        return None if found is None else (found[0], found[1].how)

    def _add(self, record: Record) -> None:
        self._tape.add(record)
        if self.settings.heard is not None:
            self.settings.heard(record)

    def _between(self) -> Iterator[LiveEvent]:
        """Between two reads: marks, changes, the map, the end."""
        link, session = self._link, self._session
        if link is None or session is None:
            return
        now = link.now_us()
        run_us = session.clock.at(now)
        yield from self._due_marks(link, run_us)
        if run_us is not None and self.settings.progress_hz > 0 and now >= self._progress_at_us:
            self._progress_at_us = now + round(1e6 / self.settings.progress_hz)
            yield Progress(run_us, self._tape.snapshot())
        over = self.settings.seconds is not None and run_us is not None and run_us >= self.settings.seconds * 1e6
        if over or self._stopping.is_set():
            raise RunOver

    def _due_marks(self, link: Link, run_us: int | None) -> Iterator[LiveEvent]:
        """What faces asked for, what a marks file holds up to now, what the other side did."""
        now = link.now_us()
        while self._asked:
            asked = self._asked.popleft()
            if isinstance(asked, Mark):
                yield self._mark(now, asked)
            else:
                self._tape.add(replace(asked, t_us=now))
        while self._file_marks and run_us is not None and self._file_marks[0].at_us <= run_us:
            yield self._mark(now, self._file_marks.popleft())
        for mark in link.take_marks():
            if self.settings.marks is None and not link.replays:
                yield self._mark(now, mark)

    def _closing(self, link: Link) -> Iterator[LiveEvent]:
        """Marks that came due while the run ended, those of the marks file for later moments, and the closing record."""
        try:
            yield from self._due_marks(link, self._file_marks[-1].at_us if self._file_marks else 0)
            self._tape.add(Ended(link.now_us(), asdict(self._tape.snapshot().link)))
        except Unusable as error:
            yield Refused(*error.advice)

    def _mark(self, now_us: int, mark: Mark) -> MarkMade:
        self._add(Marked(now_us, mark))
        return MarkMade(mark)

    def _finished(self) -> Finished:
        document = self._tape.document()
        damage = self._link.recording.damage if isinstance(self._link, ReplayLink) else ()
        return Finished(document, to_bytes(document), self._tape.path, (*damage, *self._tape.notes))

    # What the run starts with

    def _record_path(self) -> Path | None:
        path = self.settings.record
        if path is None:
            return None
        if path.is_dir():
            return free_name(path, self.settings.layout.id)
        if path.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path))
        return path

    def _wiring(self, link: Link | None) -> Wiring | None:
        """The wiring of the settings, or of the recording that is replayed; None for a plain harness."""
        if self.settings.wiring is not None:
            return self.settings.wiring
        if isinstance(link, ReplayLink):
            stored = link.recording.header
            if stored.wiring is not None and stored.layout == self.settings.layout.id:
                return checked_wiring(self.settings.layout, stored.wiring)
        return None

    def _new_tape(self, link: Link | None, path: Path | None) -> Tape:
        return Tape(self._header(link), path, self.settings.rubric, self.settings.priors)

    def _header(self, link: Link | None) -> Header:
        settings = self.settings
        stored = link.recording.header if isinstance(link, ReplayLink) else None
        wiring = self._wiring(link)
        return Header(
            layout=settings.layout.id,
            layout_text=settings.layout.text,
            label=settings.label or (stored.label if stored else ""),
            every_key_pressed=settings.every_key_pressed or (stored.every_key_pressed if stored else False),
            wiring=None if wiring is None else dict(wiring.board_line),
            tool=f"tailwise {__version__}",
            created=datetime.now(UTC).isoformat(timespec="seconds"),
        )
