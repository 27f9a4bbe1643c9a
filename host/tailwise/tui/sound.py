"""Sounds for eyes that are on the film: a tone of its own for a dropout, a press, joined lines and a step.

Tones are sines with soft ends, written once into a folder of their own and played by whatever player the system has. Where
there is none, where it fails, or over a remote shell, the terminal's bell rings for dropouts and joined lines only: a
bell for every press tells nothing. TAILWISE_SOUND sets it: `tones`, `bell` or `off`.
"""

from __future__ import annotations

import math
import os
import shutil
import struct
import subprocess
import tempfile
import wave
from collections.abc import Callable, Collection, Mapping
from pathlib import Path
from typing import Protocol

from tailwise.procedure.outcome import Sound

SETTING = "TAILWISE_SOUND"
RATE_HZ = 22_050
LOUDNESS = 0.35
FADE_S = 0.008

TONES: dict[Sound, tuple[tuple[float, float], ...]] = {
    Sound.DROP: ((988.0, 0.07), (494.0, 0.11)),
    Sound.PRESS: ((1319.0, 0.03),),
    Sound.JOINED: ((659.0, 0.08), (880.0, 0.08), (659.0, 0.08), (880.0, 0.08)),
    Sound.STEP: ((659.0, 0.05), (784.0, 0.07)),
}
"""(hertz, seconds) one after another: a drop falls, a step rises, joined lines go to and fro, a press ticks."""

RUNG = (Sound.DROP, Sound.JOINED)
"""What rings the terminal's bell."""

PLAYERS: tuple[tuple[str, ...], ...] = (
    ("paplay",),
    ("pw-play",),
    ("aplay", "-q"),
    ("afplay",),
    ("powershell", "-NoProfile", "-Command", "& { (New-Object Media.SoundPlayer $args[0]).PlaySync() }"),
)
"""Players of the common systems, each takes a file's path as its last argument."""


class Playing(Protocol):
    """A player at work, as `subprocess.Popen`."""

    def poll(self) -> int | None:
        """Its exit code, None while it plays."""


Start = Callable[[list[str]], Playing]


class Sounder:
    """Makes the sounds of one app. Never blocks, never fails: what cannot be played rings the bell."""

    def __init__(
        self, ring: Callable[[], None], player: tuple[str, ...] | None, *, on: bool, start: Start | None = None
    ) -> None:
        """ring: the terminal's bell. player: command that plays a file, None for the bell alone. on: False for silence."""
        self._ring = ring
        self._player = player
        self._on = on
        self._start = start or _start
        self._files: dict[Sound, Path] = {}
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self.playing: Playing | None = None
        """The player started last."""

    @property
    def tones(self) -> bool:
        """Whether there are tones, not only the bell."""
        return self._player is not None

    @property
    def kind(self) -> str:
        """`tones`, `bell` or `off`, as it is now."""
        if not self._on:
            return "off"
        return "tones" if self.tones else "bell"

    def make(self, sounds: Collection[Sound]) -> None:
        """The most urgent of these sounds; a tone that still plays is not talked over but by a drop."""
        wanted = next((sound for sound in TONES if sound in sounds), None)
        if wanted is None or not self._on:
            return
        if self._player is not None:
            if self.playing is not None:
                code = self.playing.poll()
                if code is None and wanted is not Sound.DROP:
                    return
                if code:
                    self._player = None
            if self._player is not None and self._played(wanted):
                return
        if wanted in RUNG:
            self._ring()

    def close(self) -> None:
        """Take the files away."""
        if self._folder is not None:
            self._folder.cleanup()
            self._folder = None
            self._files.clear()

    def _played(self, sound: Sound) -> bool:
        assert self._player is not None
        try:
            self.playing = self._start([*self._player, str(self._file(sound))])
        except OSError:
            self._player = None
            return False
        return True

    def _file(self, sound: Sound) -> Path:
        if sound not in self._files:
            if self._folder is None:
                self._folder = tempfile.TemporaryDirectory(prefix="tailwise-sounds-")
            path = Path(self._folder.name) / f"{sound.value}.wav"
            write_tone(path, TONES[sound])
            self._files[sound] = path
        return self._files[sound]


def sounder(ring: Callable[[], None], environment: Mapping[str, str] | None = None) -> Sounder:
    """The sounds this system can make, as TAILWISE_SOUND says."""
    known = os.environ if environment is None else environment
    setting = known.get(SETTING, "tones").strip().lower()
    player = None
    if setting == "tones" and not known.get("SSH_CONNECTION"):
        found = ((shutil.which(name, path=known.get("PATH")), options) for name, *options in PLAYERS)
        player = next(((program, *options) for program, options in found if program), None)
    return Sounder(ring, player, on=setting != "off")


def write_tone(path: Path, tones: tuple[tuple[float, float], ...]) -> None:
    """A WAV file of 16 bits, one channel."""
    samples: list[int] = []
    for hertz, seconds in tones:
        count = round(seconds * RATE_HZ)
        fade = max(1, round(FADE_S * RATE_HZ))
        for at in range(count):
            soft = min(1.0, (at + 1) / fade, (count - at) / fade)
            samples.append(round(32767 * LOUDNESS * soft * math.sin(2 * math.pi * hertz * at / RATE_HZ)))
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(struct.pack(f"<{len(samples)}h", *samples))


def _start(command: list[str]) -> Playing:
    quiet = subprocess.DEVNULL
    return subprocess.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet)
