"""The serial port: any URL that pyserial opens, with every failure turned into LinkRefused or LinkLost.

DTR and RTS are set before opening, because a pseudo-terminal refuses them afterwards. Opening resets many boards; the
session copes with the garbage and the silence that follow.
"""

from __future__ import annotations

import errno
import os
import time
from contextlib import suppress
from typing import Any

import serial

from tailwise.link.base import Link, LinkLost, LinkRefused
from tailwise.link.ports import PortInfo, identity_of, same_board, serial_ports
from tailwise.words import link as words

BAUD = 500_000
_POLL_S = 0.01
_WRITE_S = 1.0
_CHUNK_BYTES = 1024


def _port_errors() -> tuple[type[BaseException], ...]:
    """What pyserial lets through: its own errors, the system's, and those of a handle that another thread closed."""
    own: tuple[type[BaseException], ...] = (serial.SerialException, OSError, TypeError, ValueError, AttributeError)
    try:
        import termios
    except ImportError:  # not a POSIX system
        return own
    return (*own, termios.error)


PORT_ERRORS = _port_errors()


class UrlError(ValueError):
    """The URL itself is wrong: no handler knows it. The text says what was expected."""


class SerialLink(Link):
    """A board behind pyserial. Opening may raise LinkRefused or UrlError."""

    def __init__(self, url: str) -> None:
        self.url = url
        self._began = time.monotonic()
        self._identity: PortInfo | None = identity_of(url) if "://" not in url else None
        self._port: Any = _open(url)

    def now_us(self) -> int:
        """Real microseconds since the link was made."""
        return int((time.monotonic() - self._began) * 1e6)

    def write(self, data: bytes) -> None:
        """Send bytes."""
        try:
            self._port.write(data)
        except serial.SerialTimeoutException as error:
            raise self._lost(words.WRITE_STUCK) from error
        except PORT_ERRORS as error:
            raise self._lost(_said(error)) from error

    def read(self, timeout_s: float) -> bytes:
        """Bytes as soon as there are any."""
        until = time.monotonic() + timeout_s
        while True:
            try:
                data = self._waiting()
            except PORT_ERRORS as error:
                raise self._lost(_said(error)) from error
            if data or time.monotonic() >= until:
                return data

    def _waiting(self) -> bytes:
        """All that is there, at least one poll long; some URLs (a socket) tell only that something is, not how much."""
        data = bytes(self._port.read(max(1, self._port.in_waiting)))
        while data and len(data) < _CHUNK_BYTES and (count := self._port.in_waiting):
            data += bytes(self._port.read(count))
        return data

    def close(self) -> None:
        """Close; a port that is gone already closes too."""
        port, self._port = self._port, None
        if port is not None:
            with suppress(*PORT_ERRORS):
                port.close()

    def reopen(self) -> bool:
        """Try once: the same board, under whatever name it has now."""
        self.close()
        url = self.url
        if self._identity is not None:
            found = same_board(self._identity, serial_ports())
            if found is None:
                return False
            url = found.device
        try:
            self._port = _open(url)
        except LinkRefused:
            return False
        self.url = url
        return True

    def _lost(self, said: str) -> LinkLost:
        self.close()
        return LinkLost(words.broke(self.url, said))


def _said(error: BaseException) -> str:
    if isinstance(error, TypeError | AttributeError):
        return words.CLOSED
    if isinstance(error, OSError) and error.errno is not None:
        return os.strerror(error.errno)
    return str(error).splitlines()[0] if str(error) else type(error).__name__


def _open(url: str) -> Any:
    try:
        port = serial.serial_for_url(
            url, baudrate=BAUD, timeout=_POLL_S, write_timeout=_WRITE_S, exclusive=True, do_not_open=True
        )
    except ValueError as error:
        raise UrlError(words.url_wrong(url, str(error))) from error
    except PORT_ERRORS as error:
        raise LinkRefused(*words.port_failed(url, _said(error))) from error
    try:
        port.dtr = True
        port.rts = True
        port.open()
    except PORT_ERRORS as error:
        with suppress(*PORT_ERRORS):
            port.close()
        raise LinkRefused(*_why_not(url, error)) from error
    return port


def _why_not(url: str, error: BaseException) -> words.Advice:
    """Absent, forbidden, busy or no serial port, told apart by the system's error number (by its words on Windows)."""
    code = _number(error)
    text = str(error)
    if code in (errno.ENOENT, errno.ENODEV, errno.ENXIO) or "FileNotFoundError" in text:
        return words.port_absent(url)
    if code in (errno.EBUSY, errno.EAGAIN) or "exclusively lock" in text or (os.name == "nt" and "PermissionError" in text):
        return words.port_busy(url)
    if code in (errno.EACCES, errno.EPERM):
        return words.port_forbidden(url)
    if code in (errno.ENOTTY, errno.EISDIR, errno.EINVAL) or "configure port" in text:
        return words.port_no_serial(url)
    return words.port_failed(url, _said(error))


def _number(error: BaseException | None) -> int | None:
    """The error number of an error or of what caused it; termios carries it as its first argument."""
    while error is not None:
        code = getattr(error, "errno", None)
        if code is None and error.args and isinstance(error.args[0], int):
            code = error.args[0]
        if code is not None:
            return int(code)
        error = error.__context__
    return None
