"""Sounds: tones of their own where the system plays files, else the bell, else silence."""

from __future__ import annotations

import os
import wave
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tailwise.procedure.outcome import Sound
from tailwise.tui.sound import RATE_HZ, TONES, Sounder, sounder, write_tone


@dataclass
class Player:
    """Takes commands; `code` is what the running one says when it is asked."""

    code: int | None = 0
    fails: bool = False
    played: list[str] = field(default_factory=list)

    def start(self, command: list[str]) -> Player:
        if self.fails:
            raise FileNotFoundError(command[0])
        self.played.append(Path(command[-1]).stem)
        assert Path(command[-1]).exists()
        return self

    def poll(self) -> int | None:
        return self.code


@dataclass
class Bell:
    """Counts."""

    rung: int = 0

    def ring(self) -> None:
        self.rung += 1


def test_every_sound_has_a_tone_of_its_own(tmp_path: Path) -> None:
    heard = set()
    for sound, tones in TONES.items():
        path = tmp_path / f"{sound}.wav"
        write_tone(path, tones)
        with wave.open(str(path), "rb") as file:
            assert (file.getframerate(), file.getnchannels(), file.getsampwidth()) == (RATE_HZ, 1, 2)
            assert file.getnframes() == sum(round(seconds * RATE_HZ) for _, seconds in tones)
            heard.add(file.readframes(file.getnframes()))
    assert len(heard) == len(TONES) == len(Sound)


def test_tones_are_played_and_the_bell_keeps_quiet() -> None:
    player, bell = Player(), Bell()
    made = Sounder(bell.ring, ("play",), on=True, start=player.start)
    made.make([Sound.DROP, Sound.PRESS])
    made.make([Sound.JOINED])
    made.close()
    assert (player.played, bell.rung) == (["drop", "joined"], 0)


def test_a_drop_is_heard_over_a_tone_that_still_plays_and_nothing_else_is() -> None:
    player = Player(code=None)
    made = Sounder(Bell().ring, ("play",), on=True, start=player.start)
    for sound in (Sound.STEP, Sound.PRESS, Sound.DROP):
        made.make([sound])
    made.close()
    assert player.played == ["step", "drop"]


@pytest.mark.parametrize("player", [Player(fails=True), Player(code=1)])
def test_a_player_that_fails_leaves_the_bell_for_what_matters(player: Player) -> None:
    bell = Bell()
    made = Sounder(bell.ring, ("play",), on=True, start=player.start)
    for sound in (Sound.DROP, Sound.DROP, Sound.PRESS):
        made.make([sound])
    made.close()
    assert not made.tones
    assert bell.rung == (2 if player.fails else 1)


def test_the_setting_chooses_bell_or_silence(tmp_path: Path) -> None:
    program = tmp_path / "aplay"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    here = {"PATH": f"{tmp_path}{os.pathsep}"}
    bell = Bell()
    assert sounder(bell.ring, here).tones
    assert not sounder(bell.ring, {**here, "SSH_CONNECTION": "a b"}).tones
    only = sounder(bell.ring, {**here, "TAILWISE_SOUND": "bell"})
    only.make([Sound.DROP])
    only.make([Sound.PRESS])
    silent = sounder(bell.ring, {**here, "TAILWISE_SOUND": "off"})
    silent.make([Sound.DROP])
    assert (only.tones, bell.rung) == (False, 1)
