"""Opening and losing serial ports: each failure of the system becomes one kind of error."""

from __future__ import annotations

import errno
import os
import pty
import termios
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import serial

from tailwise.link import serial_port
from tailwise.link.base import LinkLost, LinkRefused
from tailwise.link.ports import PortInfo
from tailwise.link.serial_port import SerialLink, UrlError

IO_ERROR: Exception = termios.error(errno.EIO, "Input/output error")


@contextmanager
def terminal() -> Iterator[tuple[int, str]]:
    master, slave = pty.openpty()
    tty.setraw(slave)
    try:
        yield master, os.ttyname(slave)
    finally:
        os.close(slave)
        try:
            os.close(master)
        except OSError as error:
            assert error.errno == errno.EBADF


def test_bytes_pass_both_ways_unchanged() -> None:
    data = bytes(range(256))
    with terminal() as (master, path):
        link = SerialLink(path)
        link.write(data)
        assert os.read(master, 1024) == data
        os.write(master, data)
        got = b""
        while len(got) < 256:
            got += link.read(1.0)
        assert got == data
        assert link.read(0.0) == b""
        link.close()
        link.close()


def test_time_is_monotonic_microseconds() -> None:
    with terminal() as (_, path):
        link = SerialLink(path)
        first = link.now_us()
        assert 0 <= first <= link.now_us()
        link.close()


def test_the_master_s_end_is_a_lost_link_for_reading_and_writing() -> None:
    master, slave = pty.openpty()
    tty.setraw(slave)
    link = SerialLink(os.ttyname(slave))
    os.close(slave)
    os.close(master)
    with pytest.raises(LinkLost):
        while True:
            link.read(0.01)
    with pytest.raises(LinkLost):
        link.write(b"x")
    with pytest.raises(LinkLost):
        link.read(0.0)
    assert link.reopen() is False
    link.close()


@pytest.mark.parametrize(
    "error",
    [
        serial.SerialException("device disconnected"),
        serial.SerialTimeoutException("write timeout"),
        OSError(errno.EIO, "Input/output error"),
        TypeError("an integer is required"),
        ValueError("file descriptor cannot be a negative integer"),
        AttributeError("'NoneType' object has no attribute 'hEvent'"),
        IO_ERROR,
    ],
)
def test_everything_a_port_raises_is_one_lost_link(error: Exception) -> None:
    class Broken:
        in_waiting = 0

        def read(self, size: int) -> bytes:
            raise error

        def write(self, data: bytes) -> None:
            raise error

        def close(self) -> None:
            raise error

    with terminal() as (_, path):
        uses: tuple[Callable[[SerialLink], object], ...] = (lambda link: link.read(0.0), lambda link: link.write(b"x"))
        for use in uses:
            link = SerialLink(path)
            link.close()
            link._port = Broken()
            with pytest.raises(LinkLost) as lost:
                use(link)
            assert "\n" not in str(lost.value)


def test_a_second_program_is_told_the_port_is_busy() -> None:
    with terminal() as (_, path):
        link = SerialLink(path)
        with pytest.raises(LinkRefused, match="another program") as refused:
            SerialLink(path)
        assert "fuser" in refused.value.next_step
        link.close()


def test_an_absent_port_is_told_apart() -> None:
    with pytest.raises(LinkRefused, match="no port") as refused:
        SerialLink("/dev/no-such-port")
    assert "tailwise ports" in refused.value.next_step


def test_a_file_is_no_serial_port(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(LinkRefused, match="not a serial port"):
        SerialLink(str(tmp_path / "file"))
    with pytest.raises(LinkRefused):
        SerialLink(str(tmp_path))


def test_a_forbidden_port_names_the_command_that_helps(monkeypatch: pytest.MonkeyPatch) -> None:
    def forbidden(self: Any) -> None:
        raise serial.SerialException(errno.EACCES, "could not open port: Permission denied")

    monkeypatch.setattr(serial.Serial, "open", forbidden)
    with pytest.raises(LinkRefused, match="may not open") as refused:
        SerialLink("/dev/ttyX")
    assert "usermod -aG dialout" in refused.value.next_step and "log out" in refused.value.next_step


def test_a_url_nothing_opens_is_a_wrong_call() -> None:
    with pytest.raises(UrlError, match="practice:SCENARIO"):
        SerialLink("nonsense://x")


def test_a_socket_nobody_listens_on_is_refused() -> None:
    with pytest.raises(LinkRefused):
        SerialLink("socket://127.0.0.1:1")


def test_other_pyserial_urls_work() -> None:
    link = SerialLink("loop://")
    link.write(b"abc")
    assert link.read(1.0) == b"abc"
    link.close()


def test_dtr_is_set_before_opening_and_never_after(monkeypatch: pytest.MonkeyPatch) -> None:
    order: list[str] = []

    class Watched:
        def __setattr__(self, name: str, value: object) -> None:
            order.append(name)

        def open(self) -> None:
            order.append("open")

        def close(self) -> None:
            order.append("close")

    monkeypatch.setattr(serial, "serial_for_url", lambda url, **how: Watched() if how["do_not_open"] else None)
    SerialLink("watched://").close()
    assert order == ["dtr", "rts", "open", "close"]


def test_reopening_finds_the_same_board_under_another_name(monkeypatch: pytest.MonkeyPatch) -> None:
    with terminal() as (_, first), terminal() as (_, second):
        before = PortInfo(first, usb=(0x1234, 0x5678), serial="A1")
        monkeypatch.setattr(serial_port, "identity_of", lambda device: before)
        link = SerialLink(first)
        monkeypatch.setattr(serial_port, "serial_ports", lambda: [PortInfo(first, usb=(1, 2), serial="A1")])
        assert link.reopen() is False
        moved = [PortInfo(first, usb=(0x1234, 0x5678), serial="B2"), PortInfo(second, usb=(0x1234, 0x5678), serial="A1")]
        monkeypatch.setattr(serial_port, "serial_ports", lambda: moved)
        assert link.reopen() is True
        assert link.url == second
        link.close()
