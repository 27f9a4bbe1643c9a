"""A replay gives the recording's bytes, marks and lost links at the recording's own times."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tailwise.link.base import LinkEnded, LinkLost
from tailwise.link.replay import ReplayLink
from tailwise.model.mark import Deed, Mark
from tailwise.recording.format import Ended, Header, Linked, LinkEvent, Marked, Received, Record, Recording, Sent

HEADER = Header("demo-7x6", "")


def replay(*records: Record) -> ReplayLink:
    return ReplayLink(Recording(HEADER, records))


def test_bytes_come_at_their_times_and_nothing_waits() -> None:
    link = replay(Received(1_000_000, b"a"), Sent(1_500_000, b"q"), Received(61_000_000, b"b"))
    assert link.read(0.5) == b"" and link.now_us() == 500_000
    assert link.read(0.5) == b"a" and link.now_us() == 1_000_000
    assert link.read(60.0) == b"b"
    with pytest.raises(LinkEnded):
        link.read(0.1)


def test_marks_come_with_their_records() -> None:
    mark = Mark(5, Deed.PRESS, key="Q")
    link = replay(Received(10, b"a"), Marked(20, mark), Received(30, b"b"))
    assert link.read(1.0) == b"a" and link.take_marks() == []
    assert link.read(1.0) == b"b" and link.take_marks() == [mark] and link.take_marks() == []


def test_a_lost_link_is_lost_again_and_comes_back() -> None:
    lost, back = Linked(20, LinkEvent.LOST, "cable"), Linked(90, LinkEvent.REOPENED)
    link = replay(Received(10, b"a"), lost, back, Received(100, b"b"))
    assert link.read(1.0) == b"a"
    with pytest.raises(LinkLost, match="cable"):
        link.read(1.0)
    assert link.now_us() == 20
    assert link.reopen() is True and link.now_us() == 90
    assert link.read(1.0) == b"b"


def test_a_link_never_regained_stays_away() -> None:
    link = replay(Linked(20, LinkEvent.LOST), Ended(30))
    with pytest.raises(LinkLost):
        link.read(1.0)
    assert link.reopen() is False


def test_writing_is_taken_and_changes_nothing() -> None:
    link = replay(Received(10, b"a"))
    link.write(b"anything")
    assert link.read(1.0) == b"a"


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 10**7), st.binary(min_size=1, max_size=4)), max_size=20), st.integers(50_000, 10**6))
def test_every_byte_comes_once_whatever_the_timeouts(parts: list[tuple[int, bytes]], timeout_us: int) -> None:
    records = tuple(Received(t_us, data) for t_us, data in sorted(parts))
    link = replay(*records)
    got = b""
    last = 0
    with pytest.raises(LinkEnded):
        while True:
            got += link.read(timeout_us / 1e6)
            assert link.now_us() >= last
            last = link.now_us()
    assert got == b"".join(record.data for record in records)
    assert link.take_records() == list(records)
