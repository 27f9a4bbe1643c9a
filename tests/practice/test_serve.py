"""The bench as a pseudo-terminal: one host after another, through the serial library."""

from __future__ import annotations

import threading

import pytest
import serial

from tailwise.layoutfile.nodes import FileProblems
from tailwise.practice.serve import Served
from tailwise.wire.frames import Frame, FrameSplitter, encode
from tailwise.wire.messages import Booted, Hello, Identity


def greeted(path: str) -> list[object]:
    """Everything a host hears until the board has said who it is."""
    heard: list[object] = []
    splitter = FrameSplitter()
    with serial.Serial(path, 500_000, timeout=0.2) as port:
        for number in range(100):
            port.write(b"\0" + encode(Hello(1, 1), number))
            heard += [item.message() if isinstance(item, Frame) else item for item in splitter.feed(port.read(200))]
            if any(isinstance(message, Identity) for message in heard):
                return heard
    raise AssertionError(f"no IDENTITY, only {heard}")


def test_each_connection_finds_a_board_that_has_just_booted() -> None:
    with Served("sound", speed=20.0) as served:
        thread = threading.Thread(target=served.run)
        thread.start()
        try:
            for _ in range(2):
                assert served.idle.wait(30)
                heard = greeted(served.path)
                assert isinstance(heard[0], Booted)
        finally:
            served.stop()
            thread.join()


def test_an_unknown_scenario_opens_nothing() -> None:
    with pytest.raises(FileProblems):
        Served("nothing-of-the-kind")
