"""Sentences of the link: what went wrong with a port, why, and what to do."""

from __future__ import annotations

Advice = tuple[str, str, str]
"""Reason, likely cause, next step."""


def port_absent(port: str) -> Advice:
    """No such port."""
    return (
        f"there is no port {port}",
        "the harness is not plugged in, or it stands under another name",
        "plug it in and run `tailwise ports` to see its name",
    )


def port_forbidden(port: str) -> Advice:
    """The system does not let this user open the port."""
    return (
        f"this user may not open {port}",
        "serial ports belong to the group dialout (uucp on some systems) and this user is not in it",
        "run `sudo usermod -aG dialout $USER`, then log out and in again",
    )


def port_busy(port: str) -> Advice:
    """Another program has the port."""
    return (
        f"another program has {port} open",
        "a serial monitor, a second tailwise or a modem manager holds it",
        f"close that program; `fuser -v {port}` names it",
    )


def port_no_serial(port: str) -> Advice:
    """The thing opened is not a serial port."""
    return (
        f"{port} is not a serial port",
        "the path names a file or a device of another kind",
        "run `tailwise ports` and take a name from its list",
    )


def port_failed(port: str, said: str) -> Advice:
    """Anything else while opening."""
    return (
        f"{port} could not be opened: {said}",
        "the cable, the adapter or its driver",
        "unplug the harness, plug it in again and run `tailwise ports`",
    )


def url_wrong(url: str, said: str) -> str:
    """A URL that nothing opens."""
    return (
        f"--port: {url} cannot be used: {said}; expected a device such as /dev/ttyACM0 or COM3, a pyserial URL such as "
        "socket://host:port, practice:SCENARIO or replay:RECORDING"
    )


def broke(port: str, said: str) -> str:
    """The open port failed."""
    return f"the link to {port} broke ({said})"


WRITE_STUCK = "the port takes no more bytes"
CLOSED = "the port is closed"
REPLAY_LOST = "the recording notes a lost link"
