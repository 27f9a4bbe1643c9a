"""The bench as a pseudo-terminal, in real time, for other hosts.

Every connection starts the scenario anew, as opening a port resets many boards (one that comes within a moment of the last
is not told from it). When the operator has finished the board
stays on its line, with nobody pressing anything. Bytes that the host does not read are lost in the end, as on a serial
line. A pulled cable (a pseudo-terminal has none) is a board that falls silent and boots again later.
"""

from __future__ import annotations

import contextlib
import os
import select
import threading
import time
from collections.abc import Callable
from types import TracebackType

from tailwise.link.base import LinkRefused
from tailwise.practice.catalogue import find_scenario
from tailwise.practice.virtual import Bench

_POLL_MS = 50
_UNREAD_BYTES = 1 << 16


class Served:
    """A scenario behind a pseudo-terminal whose name is `path`; `run` serves until `stop` or Ctrl-C.

    LinkRefused where the system has no pseudo-terminals, FileProblems where there is no such scenario.
    """

    def __init__(self, scenario: str, *, speed: float = 1.0) -> None:
        setup = find_scenario(scenario).setup
        self._new_bench: Callable[[], Bench] = lambda: Bench(setup)
        self._speed = speed
        self._stopped = threading.Event()
        self.idle = threading.Event()
        """Set while no host is connected."""
        self._master, self.path = _open_terminal()

    def __enter__(self) -> Served:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    def stop(self) -> None:
        """Make `run` return; may be called from another thread."""
        self._stopped.set()

    def close(self) -> None:
        """Give the pseudo-terminal back; may be called again."""
        self._stopped.set()
        if self._master >= 0:
            os.close(self._master)
            self._master = -1

    def run(self) -> None:
        """Serve one connection after another; Ctrl-C ends it without a word."""
        poll = select.poll()
        poll.register(self._master, select.POLLIN)
        try:
            while not self._stopped.is_set():
                if _hung_up(poll, _POLL_MS):
                    self.idle.set()
                    self._stopped.wait(_POLL_MS / 1000)
                else:
                    self._serve_one(poll)
        except KeyboardInterrupt:
            self._stopped.set()

    def _serve_one(self, poll: select.poll) -> None:
        self.idle.clear()
        bench = self._new_bench()
        began = time.monotonic()
        unsent = bytearray()
        powered = True
        while not self._stopped.is_set():
            following = bench.next_us()
            wait_us = _POLL_MS * 1000 if following is None else following - bench.now_us
            if _hung_up(poll, min(_POLL_MS, max(0, round(wait_us / 1000 / self._speed)))):
                return
            _move(bench, round((time.monotonic() - began) * self._speed * 1e6))
            plugged = bench.unplugged() is None
            if plugged != powered:
                powered = plugged
                (bench.power_up if plugged else bench.power_down)()
            bench.receive(_take(self._master))
            unsent += bench.take_bytes()
            del unsent[_UNREAD_BYTES:]
            _give(self._master, unsent)


def _open_terminal() -> tuple[int, str]:
    try:
        import pty
        import tty
    except ImportError as error:
        raise LinkRefused(
            "this system has no pseudo-terminals",
            "it is not a Unix system",
            "use the port practice:SCENARIO inside this program instead",
        ) from error
    master, slave = pty.openpty()
    path = os.ttyname(slave)
    tty.setraw(slave)
    os.close(slave)
    os.set_blocking(master, False)
    return master, path


def _move(bench: Bench, until: int) -> None:
    while bench.now_us < until:
        following = bench.next_us()
        bench.advance(until if following is None else min(until, following))


def _hung_up(poll: select.poll, wait_ms: int) -> bool:
    """Whether nobody has the other end open, after waiting a while for bytes."""
    return any(event & select.POLLHUP for _, event in poll.poll(wait_ms))


def _take(master: int) -> bytes:
    """What the host has written; nothing where it has just gone."""
    try:
        return os.read(master, 4096)
    except OSError:
        return b""


def _give(master: int, unsent: bytearray) -> None:
    """Write what the terminal takes; the rest waits."""
    with contextlib.suppress(OSError):
        if unsent:
            del unsent[: os.write(master, unsent)]
