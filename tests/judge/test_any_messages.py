"""Whatever a stranger's board says, in whatever order, is survived, and what is made of it is in order."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tailwise.judge.document import to_bytes
from tailwise.judge.judge import Judge
from tailwise.model.mark import Deed, Mark
from tailwise.recording.format import Header, Linked, LinkEvent, Marked, Received, Record, Sent
from tailwise.wire.frames import encode, encode_frame
from tailwise.wire.messages import (
    Ack,
    Booted,
    Heartbeat,
    Identity,
    LineCheck,
    Message,
    Refused,
    SetLines,
    SetScan,
    Start,
    State,
    Stop,
    Transitions,
)
from tailwise.wire.payload import Transition

U8, U16 = st.integers(0, 255), st.integers(0, 65535)
CLOCKS = st.one_of(st.integers(0, 5_000_000), st.integers(0, 2**32 - 1))
BOARD: st.SearchStrategy[Message] = st.one_of(
    st.builds(Booted, U8),
    st.builds(
        Identity,
        U16,
        U8,
        U8,
        U8,
        U8,
        U8,
        st.integers(0, 44),
        U16,
        U16,
        U16,
        U16,
        U16,
        U8,
        st.just(b""),
        st.just(b""),
        st.just("x"),
    ),
    st.builds(Ack, U16, st.sampled_from([1, 2, 3, 4, 4, 4, 5, 6, 99]), CLOCKS),
    st.builds(Refused, U16, U8, U8, U8, st.just("no")),
    st.builds(LineCheck, CLOCKS, st.binary(max_size=6)),
    st.builds(State, CLOCKS, st.integers(0, 3), st.one_of(st.binary(min_size=4, max_size=4), st.binary(max_size=9))),
    st.builds(
        Transitions,
        CLOCKS,
        st.lists(st.builds(Transition, U16, st.integers(0, 5), st.integers(0, 5), st.booleans()), max_size=6).map(tuple),
    ),
    st.builds(Heartbeat, CLOCKS, U8, U16, U16, U16, U16, U16, U16),
)
HOST: st.SearchStrategy[Message] = st.one_of(
    st.builds(SetLines, st.binary(max_size=8)),
    st.builds(SetScan, st.integers(0, 20000), U16),
    st.builds(Start, U8),
    st.builds(Stop),
)
NUMBERED = st.tuples(st.sampled_from([1, 1, 1, 1, 1, 0, 2, 60000]), BOARD)
OTHERS: st.SearchStrategy[Record] = st.one_of(
    st.builds(Linked, st.integers(0, 10**7), st.sampled_from(LinkEvent)),
    st.builds(
        Marked,
        st.just(0),
        st.builds(Mark, st.integers(0, 5_000_000), st.sampled_from(Deed), key=st.sampled_from(["A1", "B2", "?", None])),
    ),
    st.builds(Received, st.just(0), st.binary(max_size=12)),
    HOST.map(lambda message: Sent(0, encode(message, 5))),
    st.tuples(st.integers(0x80, 0x9F), st.binary(max_size=8)).map(lambda pair: Received(0, encode_frame(pair[0], 7, pair[1]))),
)


@given(st.lists(st.one_of(NUMBERED, NUMBERED, NUMBERED, OTHERS), max_size=60), st.booleans())
@settings(max_examples=120, deadline=None)
def test_any_messages_are_survived(items: list[tuple[int, Message] | Record], stated: bool) -> None:
    judge = Judge(Header("grid", LAYOUT, every_key_pressed=stated))
    judge.feed(Received(0, encode(Ack(4, 4, 0), 0)))
    number = 0
    for item in items:
        if isinstance(item, tuple):
            number = (number + item[0]) % 65536
            judge.feed(Received(0, encode(item[1], number)))
        else:
            judge.feed(item)
        judge.snapshot()
    seen = judge.observations()
    for stretch in seen.blind:
        assert 0 <= stretch.start_us <= stretch.end_us <= seen.end_us
    for press in seen.presses:
        assert 0 <= press.start_us <= (seen.end_us if press.end_us is None else press.end_us) <= seen.end_us
        assert press.make_bounce_us >= 0 <= press.break_bounce_us
    for dropout in seen.dropouts:
        assert dropout.start_us <= dropout.end_us
        assert not set(dropout.lost) & set(dropout.kept)
    assert to_bytes(judge.document()) == to_bytes(judge.document())


LAYOUT = """format: tailwise-layout/1
id: grid
title: four keys
kind: film
rows: [A, B]
columns: ["1", "2"]
keys:
  - {id: A1, legend: A1, row: A, column: "1"}
  - {id: A2, legend: A2, row: A, column: "2"}
  - {id: B1, legend: B1, row: B, column: "1"}
  - {id: B2, legend: B2, row: B, column: "2"}
"""
