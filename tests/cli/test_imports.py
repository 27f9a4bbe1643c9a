"""What loads what, in fresh interpreters: help loads nothing heavy, judging no pyserial, the core no Textual."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HEAVY = ("textual", "rich", "serial", "yaml", "crcmod", "numpy", "PIL", "jinja2", "sqlalchemy", "psycopg")


def loaded(code: str) -> set[str]:
    """Top-level modules, and rooms of tailwise, that this code loads in an interpreter of its own."""
    script = f"import sys, json, io\n{code}\nsys.stderr.write('\\n' + json.dumps(sorted(sys.modules)))"
    done = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT / "host")},
    )
    return set(json.loads(done.stderr.splitlines()[-1]))


def test_help_loads_nothing_heavy() -> None:
    modules = loaded("from tailwise.cli.main import main\ntry:\n    main(['--help'])\nexcept SystemExit:\n    pass")
    assert not modules & set(HEAVY)
    rooms = {name for name in modules if name.startswith("tailwise.") and name.count(".") == 1}
    assert rooms == {"tailwise.cli", "tailwise.words"}


@pytest.mark.parametrize("command", ["test", "judge", "layouts", "export", "practice", "prove", "ports", "try", "report"])
def test_the_help_of_each_command_loads_nothing_heavy(command: str) -> None:
    modules = loaded(
        f"from tailwise.cli.main import main\ntry:\n    main(['{command}', '--help'])\nexcept SystemExit:\n    pass"
    )
    assert not modules & set(HEAVY)


def test_judging_loads_no_pyserial_and_no_practice() -> None:
    modules = loaded(
        "import tailwise.judge.judge, tailwise.judge.document, tailwise.recording.reader, tailwise.diagnose.engine"
    )
    assert not modules & {"serial", "textual", "tailwise.practice", "tailwise.link"}


def test_a_run_on_the_bench_loads_neither_textual_nor_pyserial() -> None:
    call = ["test", "--port", "practice:sound", "--layout", "demo-7x6", "--seconds", "1"]
    modules = loaded(f"from tailwise.cli.main import main\nmain({call})")
    assert not modules & {"textual", "serial", "tailwise.tui", "tailwise.link.serial_port"}
