"""Recordings: what is written is read; torn and damaged files give everything that can be read, and a word."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailwise.model.mark import Deed, Mark
from tailwise.recording.format import (
    Changed,
    Ended,
    Header,
    Linked,
    LinkEvent,
    Marked,
    Received,
    Record,
    RecordingError,
    Sent,
    mark_from_json,
    mark_to_json,
)
from tailwise.recording.reader import parse_recording, read_recording
from tailwise.recording.writer import RecordingWriter, header_to_json, record_to_json

HEADER = Header("demo-7x6", "", "a label")
TIMES = st.integers(0, 10**14)
TEXTS = st.text(max_size=12)
MARKS = st.builds(
    Mark,
    st.integers(0, 10**12),
    st.sampled_from(Deed),
    key=st.none() | TEXTS,
    zone=st.none() | TEXTS,
    tail=st.none() | TEXTS,
    text=st.none() | TEXTS,
)
RECORDS: st.SearchStrategy[Record] = st.one_of(
    st.builds(Received, TIMES, st.binary(max_size=40)),
    st.builds(Sent, TIMES, st.binary(max_size=40)),
    st.builds(Marked, TIMES, MARKS),
    st.builds(Linked, TIMES, st.sampled_from(LinkEvent), TEXTS),
    st.builds(Changed, TIMES, TEXTS, st.booleans()),
)


def written(header: Header, records: list[Record]) -> bytes:
    objects = [header_to_json(header), *(record_to_json(record) for record in records)]
    return b"".join(json.dumps(each).encode() + b"\n" for each in objects)


@given(
    st.builds(
        Header,
        st.just("demo-7x6"),
        TEXTS,
        TEXTS,
        st.booleans(),
        st.none() | st.dictionaries(TEXTS, st.integers(0, 39), max_size=4),
        TEXTS,
        TEXTS,
    ),
    st.lists(RECORDS, max_size=12),
)
def test_what_is_written_is_read(header: Header, records: list[Record]) -> None:
    whole = [*records, Ended(5, {"frames": 3})]
    recording = parse_recording(written(header, whole), "x")
    assert recording.header == header
    assert recording.records == tuple(whole)
    assert recording.damage == ()
    assert recording.ended


RUN: list[Record] = [
    Sent(0, b"\x01\x02\x00"),
    Received(10, bytes(range(40))),
    Marked(20, Mark(2_500_000, Deed.PRESS, key="A")),
    Received(30, b""),
    Ended(40, {"frames": 1}),
]


def test_a_file_cut_anywhere_gives_everything_before_the_cut_and_a_word() -> None:
    raw = written(HEADER, RUN)
    first_line = raw.index(b"\n")
    for cut in range(first_line, len(raw)):
        recording = parse_recording(raw[:cut], "x")
        assert recording.records == tuple(RUN[: len(recording.records)])
        whole_lines = raw[:cut].count(b"\n")
        assert len(recording.records) >= whole_lines - 1
        assert bool(recording.damage) != recording.ended
        assert recording.ended == (len(recording.records) == len(RUN))


def test_a_file_cut_inside_its_header_is_an_error_with_file_and_line() -> None:
    for cut in (0, 1, 40):
        with pytest.raises(RecordingError, match=r"^some\.twrec:1: "):
            parse_recording(written(HEADER, RUN)[:cut], "some.twrec")


@given(st.integers(1, len(RUN)), st.binary(min_size=1, max_size=30).filter(lambda data: b"\n" not in data and data.strip()))
def test_a_damaged_line_is_left_out_and_named(at: int, rubbish: bytes) -> None:
    lines = written(HEADER, RUN).splitlines(keepends=True)
    lines[at] = b"\xff" + rubbish + b"\n"
    recording = parse_recording(b"".join(lines), "x")
    assert recording.records == tuple(each for number, each in enumerate(RUN, start=1) if number != at)
    assert f"line {at + 1} is damaged" in recording.damage[0]


@pytest.mark.parametrize(
    ("record", "part"),
    [
        ({"t": -1, "rx": ""}, "t must be microseconds"),
        ({"t": True, "rx": ""}, "t must be microseconds"),
        ({"t": 1, "rx": 5}, "rx must be bytes in hex"),
        ({"t": 1, "tx": "0"}, "tx must be bytes in hex"),
        ({"t": 1, "rx": "00", "tx": "00"}, "one record holds rx and tx"),
        ({"t": 1, "mark": {"at": -1, "do": "press"}}, "mark.at"),
        ({"t": 1, "mark": {"at": 1, "do": "poke"}}, "mark.do must be one of press, hold"),
        ({"t": 1, "mark": {"at": 1, "do": "press", "kee": "A"}}, "unknown names kee"),
        ({"t": 1, "mark": {"at": 1, "do": "press", "key": 1}}, "mark.key must be a text"),
        ({"t": 1, "mark": 1}, "a mark must be an object"),
        ({"t": 1, "link": "gone"}, "link must be one of lost, reopened, restarted"),
        ({"t": 1, "set": {"label": 5}}, "set must hold label"),
        ([], "not a JSON object"),
    ],
)
def test_records_that_break_a_rule_say_which(record: Any, part: str) -> None:
    raw = written(HEADER, []) + json.dumps(record).encode() + b"\n"
    recording = parse_recording(raw, "x")
    assert recording.records == ()
    assert part in recording.damage[0]


@pytest.mark.parametrize(
    ("header", "part"),
    [
        ({"format": "something"}, "expected tailwise-recording/1, found 'something'"),
        ({"format": "tailwise-recording/9"}, "update this one"),
        ({"format": "tailwise-recording/1"}, "name a layout"),
        ({"format": "tailwise-recording/1", "layout": 5}, "layout: expected a text"),
        ({"format": "tailwise-recording/1", "layout": "a", "every_key_pressed": 1}, "expected true or false"),
        ({"format": "tailwise-recording/1", "layout": "a", "wiring": {"R1": True}}, "wiring: expected line names"),
    ],
)
def test_headers_that_cannot_be_used_are_errors(header: dict[str, object], part: str) -> None:
    with pytest.raises(RecordingError, match=r"^some\.twrec:1: ") as raised:
        parse_recording(json.dumps(header).encode() + b"\n", "some.twrec")
    assert part in str(raised.value)


def test_unknown_names_blank_lines_and_carriage_returns_are_allowed() -> None:
    raw = (
        b'{"format":"tailwise-recording/1","layout":"demo-7x6","weather":"fine"}\r\n'
        b'\n  {"t":1,"rx":"0A 0b","volume":3}  \r\n{"t":2,"applause":true}\n{"t":3,"end":{}}\n'
    )
    recording = parse_recording(raw, "x")
    assert recording.records == (Received(1, b"\x0a\x0b"), Ended(3, {}))
    assert recording.damage == ()


def test_a_time_may_be_missing_or_fractional() -> None:
    raw = written(HEADER, []) + b'{"rx":"00"}\n{"t":1.75,"rx":"00"}\n{"end":{}}\n'
    assert parse_recording(raw, "x").records == (Received(0, b"\0"), Received(1, b"\0"), Ended(0, {}))


def test_a_last_line_without_line_feed_counts_where_it_is_whole() -> None:
    recording = parse_recording(written(HEADER, RUN)[:-1], "x")
    assert recording.ended
    assert recording.damage == ()


@given(MARKS)
def test_marks_keep_their_microseconds(mark: Mark) -> None:
    assert mark_from_json(json.loads(json.dumps(mark_to_json(mark)))) == mark


def test_the_writer_hands_over_each_line_at_once_and_never_overwrites(tmp_path: Path) -> None:
    path = tmp_path / "run.twrec"
    with RecordingWriter(path, HEADER) as writer:
        for count, record in enumerate(RUN, start=1):
            writer.write(record)
            assert read_recording(path).records == tuple(RUN[:count])
        with pytest.raises(FileExistsError):
            RecordingWriter(path, HEADER)
    writer.close()
    assert read_recording(path).header == HEADER
