"""The bench as a link: virtual time, which `read` moves on, or the wall clock's time at some speed."""

from __future__ import annotations

import threading
import time

from tailwise.link.base import Link, LinkEnded, LinkLost
from tailwise.model.mark import Mark
from tailwise.practice.virtual import Bench

UNSTARTED_US = 60_000_000
REFUSED_US = 3_000_000
REOPEN_US = 250_000


class BenchLink(Link):
    """A bench behind the link's interface. It ends by itself when the operator has finished.

    In virtual time it also ends when the host never starts a run (60 s), or 3 s after the board refused to drive.
    """

    def __init__(self, bench: Bench, url: str = "practice:", *, realtime: bool = False, speed: float = 1.0) -> None:
        if speed <= 0:
            raise ValueError(f"speed must be above 0, not {speed}")
        self.bench = bench
        self.url = url
        self._realtime = realtime
        self._speed = speed
        self._opened = time.monotonic()
        self._lost = False
        self._closed = threading.Event()

    def now_us(self) -> int:
        """Microseconds since opening: virtual, or the wall clock's times the speed."""
        if not self._realtime:
            return self.bench.now_us
        return max(self.bench.now_us, round((time.monotonic() - self._opened) * self._speed * 1e6))

    def write(self, data: bytes) -> None:
        """Send bytes to the board; LinkLost where the cable is out or the link closed."""
        self._catch_up()
        self._check_cable()
        self.bench.receive(data)

    def read(self, timeout_s: float) -> bytes:
        """Bytes as soon as there are any, or b"" after the timeout; LinkLost, LinkEnded as the interface says."""
        deadline = self.now_us() + max(0, round(timeout_s * 1e6))
        while True:
            self._catch_up()
            self._check_cable()
            data = self.bench.take_bytes()
            if data:
                return data
            self._check_end()
            if self.bench.now_us >= deadline:
                return b""
            following = self.bench.next_us()
            until = deadline if following is None else min(deadline, following)
            if not self._realtime:
                self.bench.advance(until)
            else:
                self._closed.wait(max(0.0, (until - self.now_us()) / 1e6 / self._speed))

    def close(self) -> None:
        """Close; a waiting read ends with LinkLost."""
        self._closed.set()

    def reopen(self) -> bool:
        """Try again after LinkLost; each vain try takes a quarter of a second of virtual time."""
        if self._closed.is_set():
            return False
        if not self._realtime:
            self._run_to(self.bench.now_us + REOPEN_US)
        self._catch_up()
        if self.bench.unplugged() is not None:
            return False
        self._lost = False
        self.bench.power_up()
        return True

    def take_marks(self) -> list[Mark]:
        """Marks the operator has made."""
        return self.bench.take_marks()

    def _catch_up(self) -> None:
        """In real time: bring the bench to the wall clock."""
        if self._realtime:
            self._run_to(self.now_us())

    def _run_to(self, until: int) -> None:
        while self.bench.now_us < until:
            following = self.bench.next_us()
            self.bench.advance(until if following is None else min(until, following))
            self._pull_cable()

    def _pull_cable(self) -> None:
        if self.bench.unplugged() is not None and not self._lost:
            self._lost = True
            self.bench.power_down()

    def _check_cable(self) -> None:
        self._pull_cable()
        if self._closed.is_set():
            raise LinkLost("the link was closed")
        if self._lost:
            raise LinkLost("the board's cable is out")

    def _check_end(self) -> None:
        bench = self.bench
        if bench.over():
            raise LinkEnded("the practice scenario is over")
        if self._realtime:
            return
        if bench.run_zero_us is None and bench.refused_us is None and bench.now_us >= UNSTARTED_US:
            raise LinkEnded("the practice scenario ended without a run")
        if bench.run_zero_us is None and bench.refused_us is not None and bench.now_us >= bench.refused_us + REFUSED_US:
            raise LinkEnded("the practice scenario is over: the board refused to drive")
