"""The simulated board itself: the same bytes every time, loud where something is wrong, live on a pseudo-terminal."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
import serial

from tailwise.wire.frames import Frame, FrameSplitter, encode
from tailwise.wire.messages import Booted, Command, Hello, Identity, SetLines, SetScan, Start, State, Transitions
from tests.simboard import build
from tests.simboard.board import BoardMisbehaved, SimBoard
from tests.simboard.talk import Talk, both


def run_once(steps: list[int]) -> list[tuple[float, Frame]]:
    """A short run with two presses, the host taking its bytes in such steps."""
    with SimBoard() as board:
        board.press(0, 7, 60_000, 90_000, 200.0)
        board.press(2, 9, 70_000, 71_000, 200.0)
        for command in (Hello(1, 1), SetLines(both(13)), SetScan(0, 0), Start(0)):
            board.run(6000)
            board.write(encode(command, 1))
        while board.now_us() < 150_000:
            board.run(steps[board.now_us() % len(steps)])
        board.run(160_000 - board.now_us())
        return board.arrivals


def test_two_runs_give_the_same_bytes_at_the_same_times() -> None:
    first = run_once([500])
    assert len(first) > 8
    assert run_once([500]) == first
    assert run_once([137, 4096, 1, 777]) == first


def test_a_firmware_that_does_not_listen_is_a_failure(tmp_path: Path) -> None:
    image = build.spoilt(tmp_path, "uart.h", "if (status & _BV(RXC0))", "if (status & _BV(RXC0) & 0)")
    with closing(SimBoard(image)) as board:
        board.run(8000)
        board.write(bytes(8))
        board.run(1000)
        with pytest.raises(BoardMisbehaved, match="receive overrun risk"):
            board.measure()


def test_opposing_drivers_are_a_failure(tmp_path: Path) -> None:
    image = build.spoilt(tmp_path, "scan.c", "lines_drive(drive->mask, with_a);", "lines_drive(driven_between, with_a);")
    with closing(SimBoard(image)) as board:
        board.contact(0, 1, 2, 100.0)
        Talk(board).start(both(4))
        with pytest.raises(BoardMisbehaved, match="opposing drivers"):
            board.measure()


def test_a_frame_missing_from_the_stream_is_a_failure() -> None:
    with SimBoard() as board:
        Talk(board).start(both(4))
        board.poke("number", (500).to_bytes(2, "little"))
        with pytest.raises(BoardMisbehaved, match="missing"):
            board.run(60_000)


@pytest.fixture
def live() -> Iterator[str]:
    process = subprocess.Popen(
        [str(build.simulator()), str(build.IMAGE), "--pty"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert process.stdin is not None and process.stdout is not None
    process.stdin.write("contact 400000 0 7 100\n")
    process.stdin.flush()
    yield process.stdout.readline().strip()
    process.stdin.close()
    process.wait(timeout=10)
    process.stdout.close()


def test_live_through_a_serial_port(live: str) -> None:
    wanted: list[type[object]] = [Booted, Identity, State, Transitions]
    splitter = FrameSplitter()
    with serial.Serial(live, 500_000, timeout=10) as port:
        while wanted:
            data = port.read(1)
            assert data, f"nothing came, still waiting for {wanted}"
            for item in splitter.feed(data + port.read(port.in_waiting)):
                assert isinstance(item, Frame), item
                if wanted and isinstance(item.message(), wanted[0]):
                    wanted.pop(0)
                if isinstance(item.message(), Booted):
                    commands: list[Command] = [Hello(1, 1), SetLines(both(13)), SetScan(0, 0), Start(0)]
                    port.write(b"".join(encode(command, number) for number, command in enumerate(commands)))
