"""The simulated board as a link, in lock-step virtual time.

Nothing waits: `read` moves the board's time on until bytes come or the timeout is over. The same calls give the same
bytes on every run, however slow the machine is. Times are microseconds of the board since it was powered.
"""

from __future__ import annotations

import json
import math
import subprocess
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from tailwise.link.base import Link, LinkEnded, LinkLost
from tailwise.model.mark import Mark
from tailwise.wire.frames import Frame, FrameError, FrameSplitter
from tests.simboard import build

CYCLES_PER_US = 16


class BoardMisbehaved(AssertionError):
    """The firmware or the simulated board did something that must never happen."""


@dataclass(frozen=True, slots=True)
class Closure:
    """Two board lines joined by ohms from a time on; infinite ohms: apart."""

    at_us: float
    line: int
    other: int
    ohm: float = math.inf


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured at the pins since the last measurement; times in microseconds."""

    low_pulses: int
    longest_low_us: float
    longest_high_us: float
    longest_scan_us: float
    longest_unread_us: float
    largest_sink_ma: float


@dataclass(slots=True)
class Stream:
    """Frames the board sent, checked: no bad frame, no number missing or repeated."""

    splitter: FrameSplitter = field(default_factory=FrameSplitter)
    number: int | None = None

    def feed(self, data: bytes) -> list[Frame]:
        """Frames completed by these bytes; BoardMisbehaved where one is bad or missing."""
        frames = []
        for item in self.splitter.feed(data):
            if isinstance(item, FrameError):
                raise BoardMisbehaved(f"bad frame from the board: {item}")
            expected = 0 if item.type == 0x80 or self.number is None else (self.number + 1) % 65536
            if self.number is not None and item.number != expected:
                raise BoardMisbehaved(f"frame {item.number} after {self.number}: {expected} is missing")
            self.number = item.number
            frames.append(item)
        return frames


class SimBoard(Link):
    """The simulated board. Use as a context manager: leaving it checks that nothing forbidden happened.

    end_us: the run ends by itself at this time, as a scenario does. watch: check every frame the board sends.
    """

    url = "simulated board"

    def __init__(self, image: Path = build.IMAGE, *, end_us: float | None = None, watch: bool = True) -> None:
        self._process = subprocess.Popen(
            [str(build.simulator()), str(image)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1 << 16
        )
        self._cycle = 0
        self._end_us = end_us
        self._watch = watch
        self._stream = Stream()
        self._marks: list[Mark] = []
        self.arrivals: list[tuple[float, Frame]] = []
        """Every frame with the time its last byte had arrived at the host."""

    def __enter__(self) -> SimBoard:
        return self

    def __exit__(self, kind: object, error: object, trace: object) -> None:
        if kind is None:
            self.measure()
        self.close()

    # the script ------------------------------------------------------------------------------------------------

    def _tell(self, line: str) -> None:
        try:
            assert self._process.stdin is not None
            self._process.stdin.write(line + "\n")
        except OSError as error:
            raise LinkLost(f"the simulated board is gone: {error}") from error

    def _ask(self, line: str) -> str:
        self._tell(line)
        assert self._process.stdin is not None and self._process.stdout is not None
        try:
            self._process.stdin.flush()
            answer = self._process.stdout.readline()
        except OSError as error:
            raise LinkLost(f"the simulated board is gone: {error}") from error
        if not answer:
            raise LinkLost("the simulated board is gone")
        if answer == "wrong\n":
            raise BoardMisbehaved("the simulated board did not understand an earlier line of its script")
        return answer

    def contact(self, at_us: float, line: int, other: int, ohm: float = math.inf) -> None:
        """Join two board lines from a time on; infinite ohms: apart."""
        self._tell(f"contact {at_us} {line} {other} {0 if math.isinf(ohm) else max(ohm, 0.01)}")

    def contacts(self, closures: Iterable[Closure]) -> None:
        """Schedule many contacts."""
        for each in closures:
            self.contact(each.at_us, each.line, each.other, each.ohm)

    def press(self, line: int, other: int, from_us: float, to_us: float, ohm: float = 100.0) -> None:
        """A contact without bounce."""
        self.contact(from_us, line, other, ohm)
        self.contact(to_us, line, other)

    def force(self, at_us: float, line: int, volt: float, ohm: float) -> None:
        """A voltage from outside on a line; infinite ohms: taken away."""
        self._tell(f"force {at_us} {line} {volt} {0 if math.isinf(ohm) else ohm}")

    def lead(self, at_us: float, line: int, *, off: bool) -> None:
        """Take the harness lead of a line off, or put it on again."""
        self._tell(f"open {at_us} {line} {int(off)}")

    def capacitance(self, line: int, picofarad: float) -> None:
        """Capacitance of a line, 150 pF at first."""
        self._tell(f"capacitance 0 {line} {picofarad}")

    def pullup(self, line: int, ohm: float) -> None:
        """The chip's own pull-up of a line, 50 kohm at first."""
        self._tell(f"pullup 0 {line} {ohm}")

    def noise(self, at_us: float, lsb: float, seed: int) -> None:
        """Noise on every reading of an input, rms in 1024ths of the supply."""
        self._tell(f"noise {at_us} {lsb} {seed}")

    def reset(self, at_us: float, flags: int = 0x02) -> None:
        """Reset the chip; flags as in its reset flag register, bit 1 the reset line."""
        self._tell(f"reset {at_us} {flags}")

    def poke(self, symbol: str, value: bytes) -> None:
        """Write into a variable of the firmware, now."""
        self._tell(f"poke {build.symbols()[symbol]:x} {value.hex()}")

    def measure(self) -> Measured:
        """What was measured since the last call; BoardMisbehaved where something forbidden happened."""
        found = json.loads(self._ask("measure"))
        if found["problem_count"]:
            raise BoardMisbehaved(f"{found['problem_count']} problem(s): " + "; ".join(found["problems"]))
        return Measured(
            found["low_pulses"],
            found["longest_low_us"],
            found["longest_high_us"],
            found["longest_scan_us"],
            found["longest_unread_us"],
            found["largest_sink_ma"],
        )

    # the link --------------------------------------------------------------------------------------------------

    def now_us(self) -> int:
        """Microseconds of the board since it was powered."""
        return self._cycle // CYCLES_PER_US

    def write(self, data: bytes) -> None:
        """Send bytes; they reach the board one after the other at the line's rate."""
        if data:
            self._tell(f"send {data.hex()}")

    def run(self, microseconds: float) -> bytes:
        """Let so much time pass; every byte that came meanwhile."""
        return self._take(self._ask(f"run {microseconds}"))

    def read(self, timeout_s: float) -> bytes:
        """Bytes that came, as soon as there are any, or b"" after the timeout."""
        if self._end_us is not None and self.now_us() >= self._end_us:
            raise LinkEnded
        return self._take(self._ask(f"until {max(1.0, timeout_s * 1e6)}"))

    def _take(self, answer: str) -> bytes:
        _, cycle, text, ends = answer.split()
        self._cycle = int(cycle)
        if text == "-":
            return b""
        data = bytes.fromhex(text)
        if self._watch:
            last = 0
            times = ends.split(",")
            for place, byte in enumerate(data):
                if byte == 0:
                    for frame in self._stream.feed(data[last : place + 1]):
                        self.arrivals.append((int(times[place]) / CYCLES_PER_US, frame))
                    last = place + 1
            self._stream.feed(data[last:])
        return data

    def take_marks(self) -> list[Mark]:
        """Marks given to `mark`."""
        marks, self._marks = self._marks, []
        return marks

    def mark(self, mark: Mark) -> None:
        """What the operator did, for whoever asks next."""
        self._marks.append(mark)

    def close(self) -> None:
        """End the simulated board."""
        if self._process.poll() is None:
            self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                try:
                    pipe.close()
                except BrokenPipeError:
                    continue
