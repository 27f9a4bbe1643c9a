"""Fuzzes everything that reads bytes or text from outside: splitter, messages, recordings, layouts, marks, judging.

A crash is any exception but the reader's own; a wrong frame is one that appears and was never sent; a finding out of
damage is one that a damaged recording of a sound keyboard shows. Frames are built apart from the codec under test.
"""

from __future__ import annotations

import random
import sys
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from tailwise.judge.judge import judge_recording
from tailwise.layoutfile.library import find_layout, shipped_folder
from tailwise.layoutfile.nodes import FileProblems
from tailwise.layoutfile.reader import parse_layout
from tailwise.live.marksfile import parse_marks
from tailwise.recording.format import Received, Recording, RecordingError
from tailwise.recording.reader import parse_recording
from tailwise.wire.frames import Frame, FrameError, FrameSplitter
from tailwise.wire.messages import MESSAGE_TYPES
from tailwise.wire.payload import PayloadError
from tests.bench.common import Bar, Outcome, at_most, run_bench
from tests.bench.fuzz_material import (
    LAYOUT,
    damaged,
    flipped,
    on_the_wire,
    random_frame,
    recording_bytes,
    retyped,
    sound_recording,
)
from tests.wire.vectors import load

MARKS = b"""- {at: 2.5, do: press, key: Q}
- {at: 3.5, do: hold, key: SPACE}
- {at: 4, do: flex, zone: tail}
- {at: 6, do: still}
- {at: 7, do: reseat, tail: J1}
- {at: 8.25, do: note, text: "second pull"}
"""


@dataclass
class Tally:
    """Counts of one fuzzer, and the first crash in full."""

    tried: int = 0
    crashes: int = 0
    counts: dict[str, int] = field(default_factory=dict)
    first: str = ""

    def attempt(self, act: Callable[[], object], *own: type[Exception]) -> None:
        """Do it once; the reader's own errors are right, all others are crashes and are shown."""
        self.tried += 1
        try:
            act()
        except own:
            self.add("refused")
        except Exception:  # the one place that looks for crashes: each is counted and the first is printed
            self.crashes += 1
            self.first = self.first or traceback.format_exc()

    def add(self, what: str, count: int = 1) -> None:
        """Count something."""
        self.counts[what] = self.counts.get(what, 0) + count

    def line(self, name: str) -> str:
        """The fuzzer's line of the table."""
        counts = ", ".join(f"{what} {count}" for what, count in sorted(self.counts.items()))
        return f"{name:<22} {self.tried:>8} tried, {self.crashes} crashes{', ' if counts else ''}{counts}" + (
            f"\n{self.first}" if self.first else ""
        )


def split(stream: bytes, rng: random.Random | None = None) -> list[Frame | FrameError]:
    """What a splitter makes of a stream, whole or in random chunks."""
    splitter = FrameSplitter()
    found: list[Frame | FrameError] = []
    at = 0
    while at < len(stream):
        size = rng.randrange(1, 30) if rng else len(stream)
        found += splitter.feed(stream[at : at + size])
        at += size
    return found


def good(stream: bytes) -> list[Frame]:
    """The good frames of a stream."""
    return [item for item in split(stream) if isinstance(item, Frame)]


def fuzz_splitter(runs: int, rng: random.Random) -> Tally:
    """Random and damaged streams: no crash, and the same in any chunks."""
    tally = Tally()

    def one() -> None:
        stream = b"".join(random_frame(rng) for _ in range(rng.randrange(1, 5)))
        stream = rng.randbytes(rng.randrange(900)) if rng.random() < 0.3 else damaged(stream, rng)
        whole, parts = split(stream), split(stream, rng)
        if list(map(str, whole)) != list(map(str, parts)):
            tally.add("chunking differs")
        tally.add("bad frames", sum(isinstance(item, FrameError) for item in whole))

    for _ in range(runs):
        tally.attempt(one)
    return tally


def fuzz_flips(runs: int, rng: random.Random, bits: int) -> Tally:
    """`bits` flips on the wire of one frame among others: wrong frames."""
    tally = Tally()

    def one() -> None:
        before, hit, after = (random_frame(rng) for _ in range(3))
        sent = good(before + hit + after)
        if any(frame not in sent for frame in good(before + flipped(hit, rng, bits) + after)):
            tally.add("wrong frames")

    for _ in range(runs):
        tally.attempt(one)
    return tally


def fuzz_damage(runs: int, rng: random.Random) -> Tally:
    """Cuts, insertions, doublings, bursts: wrong frames."""
    tally = Tally()

    def one() -> None:
        stream = b"".join(random_frame(rng) for _ in range(3))
        sent = good(stream)
        if any(frame not in sent for frame in good(damaged(stream, rng) + b"\0")):
            tally.add("wrong frames")

    for _ in range(runs):
        tally.attempt(one)
    return tally


def fuzz_messages(runs: int, rng: random.Random) -> Tally:
    """Payloads at random and of the vectors with some bits turned over: PayloadError, or a message of the same bytes."""
    tally = Tally()

    known = [bytes.fromhex(vector["decoded"]) for vector in load("good.jsonl") if vector["message"] is not None]

    def one() -> None:
        kind, payload = rng.choice(list(MESSAGE_TYPES)), rng.randbytes(rng.randrange(249))
        if rng.random() < 0.8:
            decoded = rng.choice(known)
            kind, payload = decoded[1], flipped(decoded[4:-2], rng, rng.randrange(4))
        (frame,) = good(on_the_wire(kind, 1, payload))
        message = frame.message()
        if message is None or message.payload() != payload:
            tally.add("other bytes")

    for _ in range(runs):
        tally.attempt(one, PayloadError)
    return tally


def fuzz_recordings(runs: int, rng: random.Random, recording: bytes) -> Tally:
    """Damaged recordings; of a torn one, everything before the tear is read."""
    tally = Tally()
    whole = parse_recording(recording, "whole").records
    part = b"".join(recording.splitlines(keepends=True)[:40])

    def one() -> None:
        parse_recording(rng.choice([damaged, retyped])(part, rng), "damaged")

    def torn() -> None:
        cut = rng.randrange(recording.index(b"\n") + 1, len(recording))
        read = parse_recording(recording[:cut], "torn")
        lines = recording[:cut].count(b"\n") - 1
        count = len(read.records)
        if count < lines or read.records != whole[:count] or (count < len(whole) and not read.damage):
            tally.add("lost before a tear")

    for _ in range(runs):
        tally.attempt(one, RecordingError)
    for _ in range(max(1, runs // 100)):
        tally.attempt(torn)
    return tally


def fuzz_texts(runs: int, rng: random.Random) -> tuple[Tally, Tally]:
    """Damaged layouts and marks: read, or every problem with its line."""
    layouts, marks = Tally(), Tally()
    texts = [path.read_bytes() for path in sorted(shipped_folder().glob("*.yaml"))]
    keyboard = find_layout(LAYOUT)

    def check(read: Callable[[], object], tally: Tally) -> None:
        try:
            read()
        except FileProblems as error:
            if not error.problems or any(problem.line < 1 or not problem.text for problem in error.problems):
                tally.add("problem without a place")
            raise

    def layout() -> None:
        text = rng.choice([damaged, retyped, retyped])(rng.choice(texts), rng).decode("utf-8", "replace")
        check(lambda: parse_layout(text, "layout"), layouts)

    def mark() -> None:
        text = rng.choice([damaged, retyped, retyped])(MARKS, rng).decode("utf-8", "replace")
        check(lambda: parse_marks(text, "marks", keyboard), marks)

    for _ in range(max(1, runs // 40)):
        layouts.attempt(layout, FileProblems)
    for _ in range(max(1, runs // 4)):
        marks.attempt(mark, FileProblems)
    return layouts, marks


def fuzz_judging(runs: int, rng: random.Random) -> Tally:
    """A sound keyboard's recording with damage on the way from the board: no crash, and nothing found."""
    tally = Tally()
    header, records = sound_recording()
    assert not judge_recording(Recording(header, records))["findings"]
    received = [at for at, record in enumerate(records) if isinstance(record, Received)]

    def one() -> None:
        hit = list(records)
        for at in rng.sample(received, rng.choice([1, 3, 20])):
            record = hit[at]
            assert isinstance(record, Received)
            hit[at] = replace(record, data=damaged(record.data, rng))
        if rng.random() < 0.3:
            first = rng.randrange(len(hit))
            del hit[first : first + rng.randrange(1, 60)]
        if judge_recording(Recording(header, tuple(hit)))["findings"]:
            tally.add("findings")

    for _ in range(max(1, runs // 400)):
        tally.attempt(one)
    return tally


def bench(runs: int, seed: int) -> Outcome:
    """Every fuzzer, `runs` times (slow ones a fixed fraction of it)."""
    rng = random.Random(f"fuzz {seed}")
    splitter = fuzz_splitter(runs, rng)
    singles, pairs = fuzz_flips(runs, rng, 1), fuzz_flips(runs, rng, 2)
    damage = fuzz_damage(runs, rng)
    messages = fuzz_messages(runs, rng)
    recordings = fuzz_recordings(runs, rng, recording_bytes(*sound_recording()))
    layouts, marks = fuzz_texts(runs, rng)
    judging = fuzz_judging(runs, rng)
    named = {
        "splitter": splitter,
        "single flips": singles,
        "double flips": pairs,
        "other damage": damage,
        "messages": messages,
        "recordings": recordings,
        "layouts": layouts,
        "marks": marks,
        "judging": judging,
    }

    def none(name: str, tally: Tally, what: str) -> Bar:
        return Bar(name, tally.counts.get(what, 0), 0, "<=", f"of {tally.tried}")

    return Outcome(
        bars=[
            Bar("crashes", sum(tally.crashes for tally in named.values()), 0, "<="),
            none("wrong frames out of single bit flips", singles, "wrong frames"),
            at_most("wrong frames out of double bit flips", pairs.counts.get("wrong frames", 0), runs, 1e-4),
            at_most("wrong frames out of other damage", damage.counts.get("wrong frames", 0), runs, 1e-4),
            none("streams that chunking changes", splitter, "chunking differs"),
            none("messages that change when sent on", messages, "other bytes"),
            none("torn recordings that lose what was before the tear", recordings, "lost before a tear"),
            none("layout problems without a place", layouts, "problem without a place"),
            none("mark problems without a place", marks, "problem without a place"),
            none("findings out of a damaged link", judging, "findings"),
        ],
        table=[tally.line(name) for name, tally in named.items()],
    )


if __name__ == "__main__":
    sys.exit(run_bench("fuzz", bench, runs=20_000))
