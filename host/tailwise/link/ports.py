"""Which serial ports there are, and how to know the same board again. Opens none of them."""

from __future__ import annotations

import os
from dataclasses import dataclass

from serial.tools import list_ports


@dataclass(frozen=True, slots=True)
class PortInfo:
    """A port as the system describes it. usb is (vendor, product); serial and location are empty where unknown."""

    device: str
    about: str = ""
    usb: tuple[int, int] | None = None
    serial: str = ""
    location: str = ""

    @property
    def usb_text(self) -> str:
        """vendor:product in hex, or nothing."""
        return "" if self.usb is None else f"{self.usb[0]:04x}:{self.usb[1]:04x}"


def serial_ports() -> list[PortInfo]:
    """All serial ports the system knows, sorted by device. Nothing is opened."""
    found = []
    for port in list_ports.comports():
        usb = None if port.vid is None or port.pid is None else (int(port.vid), int(port.pid))
        about = "" if port.description in (None, "n/a") else str(port.description)
        found.append(PortInfo(str(port.device), about, usb, str(port.serial_number or ""), str(port.location or "")))
    return sorted(found, key=lambda port: port.device)


def identity_of(device: str) -> PortInfo | None:
    """What is known about a device path, links followed; None where the system lists no such port."""
    real = os.path.realpath(device)
    return next((port for port in serial_ports() if device == port.device or real == os.path.realpath(port.device)), None)


def same_board(known: PortInfo, ports: list[PortInfo]) -> PortInfo | None:
    """The port on which a board known from before stands now.

    A serial number decides. Without one: the same socket (USB location), else the only port of the same maker and
    product. Never a port that could be something else.
    """
    alike = [port for port in ports if port.usb == known.usb]
    if known.usb is None:
        return next((port for port in alike if port.device == known.device), None)
    if known.serial:
        return next((port for port in alike if port.serial == known.serial), None)
    placed = [port for port in alike if known.location and port.location == known.location]
    if placed:
        return placed[0]
    return alike[0] if len(alike) == 1 else None
