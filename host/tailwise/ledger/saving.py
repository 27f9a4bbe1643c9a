"""From a recording's bytes to a run for the ledger: judged, counted by key, with the board that made it."""

from __future__ import annotations

from tailwise.judge.judge import fed_judge
from tailwise.ledger.store import KeyResult, NewRun
from tailwise.observe.stream import Stream
from tailwise.observe.tried import presses_by_key
from tailwise.recording.reader import parse_recording
from tailwise.verdict.rubric import Rubric
from tailwise.wire.messages import Identity


def run_from_recording(
    raw: bytes, file: str, *, label: str = "", stage: str = "", rubric: Rubric | None = None
) -> tuple[NewRun, tuple[str, ...]]:
    """The run, and what a person should know about the recording; RecordingError where it cannot be used.

    label: replaces the recording's own where given; stage: what was done before this run (reseated, cleaned ...).
    """
    recording = parse_recording(raw, file)
    judge = fed_judge(recording, rubric=rubric, file=file)
    document = judge.document()
    if label:
        document = document | {"label": label}
    board = board_of(raw, file)
    run = NewRun(
        label=document["label"],
        layout=judge.layout.id,
        document=document,
        recording=raw,
        keys={key: KeyResult(presses) for key, presses in presses_by_key(judge.observations()).items()},
        stage=stage,
        firmware="" if board is None else f"{board.firmware_major}.{board.firmware_minor}.{board.firmware_patch}",
        board="" if board is None else board.board,
        board_id="" if board is None else board.unique_id.hex(),
    )
    return run, (*recording.damage, *judge.notes)


def board_of(raw: bytes, file: str) -> Identity | None:
    """Who the board said it was; None where the recording does not hold it."""
    stream = Stream()
    for record in parse_recording(raw, file).records:
        for _ in stream.feed(record):
            pass
        if stream.identity is not None:
            return stream.identity
    return None
