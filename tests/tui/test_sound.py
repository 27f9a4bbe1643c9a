"""Sounds: tones of their own where the system plays files, else the bell, else silence."""

from __future__ import annotations

import os
import subprocess
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
    assert [made.kind for made in (sounder(bell.ring, here), only, silent)] == ["tones", "bell", "off"]


def player_in(folder: Path, body: str) -> dict[str, str]:
    """A real program called aplay, alone on the path beside what its own script needs."""
    program = folder / "aplay"
    program.write_text(f"#!/bin/sh\n{body}\n")
    program.chmod(0o755)
    return {"PATH": str(folder)}


def ended(made: Sounder) -> int:
    """The exit code of the player that was started last."""
    playing = made.playing
    assert isinstance(playing, subprocess.Popen)
    return playing.wait(timeout=60)


def test_a_real_player_is_given_a_real_file_and_none_is_left_behind(tmp_path: Path) -> None:
    heard = tmp_path / "heard"
    here = player_in(tmp_path, f'echo "$1" >> {heard}\n/bin/cat "$2" >> {heard}.$(/usr/bin/basename "$2")')
    bell = Bell()
    made = sounder(bell.ring, here)
    made.make([Sound.PRESS, Sound.DROP])
    assert ended(made) == 0
    made.make([Sound.STEP])
    assert ended(made) == 0
    folder = Path(made.playing.args[-1]).parent  # type: ignore[union-attr]
    made.close()
    assert heard.read_text() == "-q\n-q\n" and not folder.exists() and bell.rung == 0
    for sound in (Sound.DROP, Sound.STEP):
        with wave.open(f"{heard}.{sound.value}.wav", "rb") as file:
            assert file.getnframes() == sum(round(seconds * RATE_HZ) for _, seconds in TONES[sound])


def test_a_real_player_without_a_sound_card_is_tried_once_and_then_the_bell_rings(tmp_path: Path) -> None:
    here = player_in(tmp_path, f"echo tried >> {tmp_path / 'heard'}\nexit 1")
    bell = Bell()
    made = sounder(bell.ring, here)
    made.make([Sound.DROP])
    assert ended(made) == 1
    for sound in (Sound.DROP, Sound.PRESS, Sound.JOINED):
        made.make([sound])
    made.close()
    assert (tmp_path / "heard").read_text() == "tried\n"
    assert (made.tones, bell.rung) == (False, 2)


@pytest.mark.parametrize(("setting", "rung"), [("bell", 1), ("off", 0)])
def test_bell_only_and_off_start_no_player(tmp_path: Path, setting: str, rung: int) -> None:
    here = player_in(tmp_path, f"echo tried >> {tmp_path / 'heard'}")
    bell = Bell()
    made = sounder(bell.ring, {**here, "TAILWISE_SOUND": setting})
    for sound in (Sound.DROP, Sound.PRESS, Sound.STEP):
        made.make([sound])
    assert made.playing is None
    assert bell.rung == rung and not (tmp_path / "heard").exists()
