"""Listing ports opens none; the same board is known again, and never another."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
import serial
from serial.tools import list_ports

from tailwise.link.ports import PortInfo, same_board, serial_ports


def system_port(device: str, **more: Any) -> SimpleNamespace:
    values = {"description": "n/a", "vid": None, "pid": None, "serial_number": None, "location": None, **more}
    return SimpleNamespace(device=device, **values)


def test_ports_are_listed_and_none_is_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*args: object, **more: object) -> None:
        raise AssertionError("opened a port")

    found = [
        system_port("/dev/ttyUSB1"),
        system_port("/dev/ttyACM0", description="Board", vid=0x2341, pid=0x42, serial_number="7"),
    ]
    monkeypatch.setattr(list_ports, "comports", lambda: found)
    monkeypatch.setattr(serial.Serial, "open", never)
    monkeypatch.setattr(serial, "serial_for_url", never)
    listed = serial_ports()
    assert listed == [PortInfo("/dev/ttyACM0", "Board", (0x2341, 0x42), "7"), PortInfo("/dev/ttyUSB1")]
    assert listed[0].usb_text == "2341:0042" and listed[1].usb_text == ""


def test_the_real_list_opens_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*args: object, **more: object) -> None:
        raise AssertionError("opened a port")

    monkeypatch.setattr(serial.Serial, "open", never)
    assert isinstance(serial_ports(), list)


USB = (0x1A86, 0x7523)


@pytest.mark.parametrize(
    ("known", "there", "expected"),
    [
        (PortInfo("a", usb=USB, serial="1"), [PortInfo("b", usb=USB, serial="1")], "b"),
        (PortInfo("a", usb=USB, serial="1"), [PortInfo("a", usb=USB, serial="2")], None),
        (PortInfo("a", usb=USB), [PortInfo("b", usb=USB)], "b"),
        (PortInfo("a", usb=USB), [PortInfo("b", usb=USB), PortInfo("c", usb=USB)], None),
        (PortInfo("a", usb=USB, location="1-2"), [PortInfo("b", usb=USB), PortInfo("c", usb=USB, location="1-2")], "c"),
        (PortInfo("a", usb=USB), [PortInfo("a", usb=(1, 2))], None),
        (PortInfo("a"), [PortInfo("b"), PortInfo("a")], "a"),
        (PortInfo("a"), [], None),
    ],
)
def test_same_board(known: PortInfo, there: list[PortInfo], expected: str | None) -> None:
    found = same_board(known, there)
    assert (found.device if found else None) == expected
