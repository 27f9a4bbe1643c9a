"""`tailwise ports`: serial ports, none of them opened."""

from __future__ import annotations

import argparse
import sys

from tailwise.words import commands as words

NAME = "ports"
HELP = words.PORTS


def options(parser: argparse.ArgumentParser) -> None:
    """No options."""


def run(arguments: argparse.Namespace) -> int:
    """List the ports."""
    from tailwise.link.ports import serial_ports

    ports = serial_ports()
    for port in ports:
        print("  ".join(part for part in (port.device, port.usb_text, port.serial, port.about) if part))
    if not ports:
        print(words.NO_PORTS, file=sys.stderr)
    return 0
