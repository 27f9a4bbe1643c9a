"""What `--port` may name: `practice:SCENARIO`, `replay:RECORDING`, else anything pyserial opens."""

from __future__ import annotations

from pathlib import Path

from tailwise.link.base import Link

PRACTICE = "practice:"
REPLAY = "replay:"


def open_link(url: str, *, realtime: bool = False) -> Link:
    """The link of a URL, open. `realtime`: a practice bench at the pace of the clock on the wall.

    LinkRefused where the port cannot be opened; UrlError, FileProblems, RecordingError or OSError where the URL, the
    scenario or the recording it names is wrong.
    """
    if url.startswith(PRACTICE):
        from tailwise.practice.bench import open_practice

        return open_practice(url.removeprefix(PRACTICE), realtime=realtime)
    if url.startswith(REPLAY):
        from tailwise.link.replay import ReplayLink
        from tailwise.recording.reader import read_recording

        return ReplayLink(read_recording(Path(url.removeprefix(REPLAY))), url)
    from tailwise.link.serial_port import SerialLink

    return SerialLink(url)
