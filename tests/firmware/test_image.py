"""The committed image is what the sources make, byte for byte, in any folder."""

from __future__ import annotations

import shutil
from pathlib import Path

from tests.simboard import build

NAME = "tailwise-mega2560.hex"


def test_the_committed_image_is_the_build_of_the_sources() -> None:
    assert (build.fresh_build() / NAME).read_bytes() == build.IMAGE.read_bytes()


def test_another_folder_makes_the_same_bytes(tmp_path: Path) -> None:
    sources = tmp_path / "somewhere else" / "firmware"
    shutil.copytree(build.REFERENCE, sources, ignore=shutil.ignore_patterns("build", "simboard"))
    build.make("hex", Path("out"), sources)
    assert (sources / "out" / NAME).read_bytes() == build.IMAGE.read_bytes()
