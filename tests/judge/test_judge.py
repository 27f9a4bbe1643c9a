"""Judging: live and later the same bytes, strangers' headers, notes."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

from tailwise.judge.document import to_bytes
from tailwise.judge.judge import Judge, fed_judge, judge_recording
from tailwise.layoutfile.library import find_layout
from tailwise.model.mark import Deed, Mark
from tailwise.recording.format import Changed, Ended, Header, Marked, Received, Record, Recording, RecordingError
from tailwise.recording.reader import read_recording
from tailwise.recording.writer import RecordingWriter
from tailwise.words import judge as words
from tests.judge.test_document import SCHEMA
from tests.observe.board import MS, SECOND, Board

DEMO = find_layout("demo-7x6")


def a_board() -> tuple[Board, int]:
    board = Board(DEMO)
    end = board.walk(each_us=200 * MS)
    return board, end


BOARD, END = a_board()
RECORDS: list[Record] = [*BOARD.records(END), Ended(0, {})]
HEADER = BOARD.header(every_key_pressed=True)


def judged(header: Header, records: list[Record]) -> bytes:
    return to_bytes(judge_recording(Recording(header, tuple(records))))


def test_a_sound_walk_is_sound() -> None:
    document = json.loads(judged(HEADER, RECORDS))
    jsonschema.validate(document, SCHEMA)
    assert (document["verdict"], document["findings"]) == ("sound", [])
    assert document["coverage"] == {"keys": 42, "tried": 42, "untried": [], "presses": 42, "miss_bound_95": 0.95}


def test_live_and_later_are_the_same_bytes(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    judge = Judge(HEADER)
    with RecordingWriter(path, HEADER) as writer:
        for number, record in enumerate(RECORDS):
            writer.write(record)
            judge.feed(record)
            if number % 250 == 0:
                assert to_bytes(judge.document()) == to_bytes(judge_recording(read_recording(path)))
    assert to_bytes(judge.document()) == to_bytes(judge_recording(read_recording(path))) == judged(HEADER, RECORDS)


def test_times_tools_and_dates_of_the_host_change_nothing() -> None:
    moved = [replace(record, t_us=record.t_us * 3 + 17) for record in RECORDS]
    header = replace(HEADER, tool="another 9", created="2031-01-01T00:00:00")
    assert judged(header, moved) == judged(HEADER, RECORDS)


def test_bytes_in_one_piece_or_one_by_one_change_nothing() -> None:
    received = b"".join(record.data for record in RECORDS if isinstance(record, Received))
    others = [record for record in RECORDS if not isinstance(record, Received)]
    together: list[Record] = [*others, Received(0, received)]
    singly: list[Record] = [*others, *(Received(0, received[at : at + 1]) for at in range(len(received)))]
    assert judged(HEADER, together) == judged(HEADER, singly)


def test_without_a_layout_text_the_shipped_layout_is_taken() -> None:
    assert judged(replace(HEADER, layout_text=""), RECORDS) == judged(HEADER, RECORDS)


def test_a_layout_text_needs_no_sources_and_may_be_unknown_here() -> None:
    text = DEMO.text.replace("id: demo-7x6", "id: my-own").split("sources:")[0]
    document = json.loads(judged(Header("my-own", text, every_key_pressed=True), RECORDS))
    assert (document["layout"], document["verdict"]) == ("my-own", "sound")


def test_another_wiring_is_followed() -> None:
    order = DEMO.harness_order
    turned = {line: len(order) - 1 - number for number, line in enumerate(order)}
    document = json.loads(judged(replace(HEADER, wiring=turned), RECORDS))
    assert document["verdict"] != "sound"
    assert json.loads(judged(replace(HEADER, wiring=dict(zip(order, range(13), strict=True))), RECORDS))["verdict"] == "sound"


@pytest.mark.parametrize(
    ("header", "part"),
    [
        (Header("no-such", ""), "not a shipped layout"),
        (Header("../layouts/demo-7x6.yaml", ""), "not a shipped layout"),
        (Header("x", "format: nonsense"), "layout"),
        (Header("demo-7x6", "", wiring={"R1": 0}), "missing lines"),
        (Header("demo-7x6", "", wiring=dict.fromkeys(DEMO.lines, 3)), "two lines on one board line"),
    ],
)
def test_headers_that_do_not_fit_are_errors(header: Header, part: str) -> None:
    with pytest.raises(RecordingError, match=r"^mine\.twrec:1: ") as raised:
        Judge(header, file="mine.twrec")
    assert part in str(raised.value)


def test_label_and_statement_may_come_later() -> None:
    board = Board(DEMO)
    end = board.walk(marked=False)
    records = [record for record in board.records(end) if not isinstance(record, Marked)]
    later: list[Record] = [*records, Changed(0, label="K 7"), Changed(0, every_key_pressed=True)]
    document = json.loads(judged(Header("demo-7x6", ""), later))
    assert document["label"] == "K 7"
    assert judge_recording(Recording(Header("demo-7x6", ""), tuple(later)))["coverage"]["untried"] == []


def test_a_mark_of_an_unknown_key_is_told_and_still_ends_the_one_before() -> None:
    marks: list[Record] = [
        Marked(0, Mark(2500 * MS, Deed.PRESS, key="A")),
        Marked(0, Mark(3000 * MS, Deed.PRESS, key="NO SUCH KEY")),
    ]
    board = Board(DEMO)
    board.press("A", 3100 * MS)
    judge = fed_judge(Recording(Header("demo-7x6", ""), (*board.records(4 * SECOND), *marks)))
    assert len(judge.notes) == 1
    assert "NO SUCH KEY" in judge.notes[0]
    (attempt,) = judge.observations().attempts
    assert attempt.end_us == 3000 * MS


def test_an_empty_recording_is_untestable() -> None:
    document = json.loads(judged(Header("demo-7x6", ""), []))
    assert (document["verdict"], document["findings"]) == ("untestable", [])
    assert fed_judge(Recording(Header("demo-7x6", ""), ())).notes == (words.NEVER_SCANNED,)


def test_nothing_closed_in_the_whole_run_accuses_no_line() -> None:
    board = Board(DEMO)
    records = board.records(30 * SECOND)
    document = json.loads(judged(HEADER, records))
    assert (document["verdict"], document["findings"]) == ("untestable", [])
