"""Which errors mean that the call or a file given to it is wrong, and how they read."""

from __future__ import annotations

from tailwise.harness.wiring import WiringError
from tailwise.layoutfile.nodes import FileProblems
from tailwise.recording.format import RecordingError
from tailwise.words import commands as words


def problem_text(error: Exception) -> str | None:
    """The sentence for a wrong call; None for an error that is a fault of the program."""
    if isinstance(error, FileProblems | RecordingError | WiringError):
        return str(error)
    if isinstance(error, FileExistsError):
        return words.overwrite(str(error.filename))
    if type(error).__module__.startswith(("tailwise.ledger.", "tailwise.learn.", "tailwise.report.")):
        return str(error)
    if isinstance(error, OSError) and error.filename is not None:
        return words.unreadable(str(error.filename), error.strerror or str(error))
    from tailwise.link.serial_port import UrlError

    return str(error) if isinstance(error, UrlError) else None
