"""Everything that follows from protocol.yaml is what generate.py makes of it now."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_the_committed_files_are_what_the_specification_gives() -> None:
    command = [sys.executable, str(ROOT / "firmware_spec" / "generate.py"), "--check"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
