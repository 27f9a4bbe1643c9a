"""Builds the firmware and the simulated board once a run, outside tracked files."""

from __future__ import annotations

import fcntl
import shutil
import subprocess
import tempfile
from functools import cache
from pathlib import Path

REFERENCE = Path(__file__).resolve().parents[2] / "firmware_spec" / "reference"
IMAGE = REFERENCE / "tailwise-mega2560.hex"
BUILD = REFERENCE / "build"


class BuildFailed(RuntimeError):
    """The compiler's own words."""


def make(target: str, build: Path, sources: Path = REFERENCE) -> None:
    """Run make in the sources' folder; BuildFailed with its output where it fails."""
    done = subprocess.run(["make", "-C", str(sources), target, f"BUILD={build}"], capture_output=True, text=True, check=False)
    if done.returncode:
        raise BuildFailed(f"make {target} failed; next step: install gcc-avr, avr-libc and libsimavr-dev\n{done.stderr}")


@cache
def simulator() -> Path:
    """The simulated board's program; one process builds, others that run at the same time wait for it."""
    BUILD.mkdir(exist_ok=True)
    with (BUILD / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        make("simboard", BUILD)
    return BUILD / "simboard"


@cache
def fresh_build() -> Path:
    """A folder with the firmware built anew from its sources."""
    folder = Path(tempfile.mkdtemp(prefix="tailwise-firmware-"))
    make("hex", folder)
    return folder


def spoilt(folder: Path, source: str, right: str, wrong: str) -> Path:
    """An image of the firmware with one place in one source file replaced, to see that the simulated board notices."""
    sources = folder / "spoilt"
    shutil.copytree(REFERENCE, sources, ignore=shutil.ignore_patterns("build", "simboard"))
    text = (sources / source).read_text(encoding="utf-8")
    if text.count(right) != 1:
        raise BuildFailed(
            f"{source} has {right!r} {text.count(right)} times; next step: bring the test in line with the firmware"
        )
    (sources / source).write_text(text.replace(right, wrong), encoding="utf-8")
    make("hex", Path("out"), sources)
    return sources / "out" / IMAGE.name


@cache
def symbols() -> dict[str, int]:
    """Name -> address in the data memory, from the build that the committed image is compared with."""
    elf = fresh_build() / "tailwise-mega2560.elf"
    done = subprocess.run(["avr-nm", str(elf)], capture_output=True, text=True, check=True)
    table = {}
    for line in done.stdout.splitlines():
        *address, _, name = line.split()
        if address:
            table[name.partition(".")[0]] = int(address[0], 16) & 0xFFFF
    return table
