"""The command line from outside: exit codes, what goes to which stream, and what a wrong call says."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from tailwise.cli.main import main
from tailwise.layoutfile.library import shipped_ids
from tests.live.fake_board import FakeBoard
from tests.live.pty_board import PtyBoard

ROOT = Path(__file__).resolve().parents[2]
Capture = pytest.CaptureFixture[str]


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    """A short sound-ish run on the practice bench."""
    path = tmp_path / "run.twrec"
    main(["test", "--port", "practice:dead-key", "--layout", "demo-7x6", "--seconds", "4", "--json", "--record", str(path)])
    return path


def wrong(capsys: Capture, *arguments: str) -> str:
    """A call that must end with 2, nothing on standard output, and a word on standard error."""
    try:
        code = main(arguments)
    except SystemExit as left:
        code = int(left.code or 0)
    said = capsys.readouterr()
    assert code == 2 and said.out == "" and said.err
    assert "Traceback" not in said.err
    return said.err


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["nonsense"], "invalid choice"),
        (["test", "--port", "practice:sound"], "--layout"),
        (["test", "--port", "practice:sound", "--layout", "demo-7x7"], "did you mean demo-7x6"),
        (["test", "--port", "practice:sund", "--layout", "demo-7x6"], "did you mean sound"),
        (["test", "--port", "replay:/no/such/file", "--layout", "demo-7x6"], "/no/such/file"),
        (["test", "--port", "nonsense://x", "--layout", "demo-7x6"], "practice:SCENARIO"),
        (["test", "--port", "practice:sound", "--layout", "demo-7x6", "--seconds", "-1"], "above 0"),
        (["test", "--port", "practice:sound", "--layout", "demo-7x6", "--marks", "/no/such"], "/no/such"),
        (["test", "--port", "practice:sound", "--layout", "demo-7x6", "--wiring", "/no/such"], "/no/such"),
        (["test", "--port", "practice:sound", "--layout", "demo-7x6", "--record", "/no/such/folder/run"], "/no/such/folder"),
        (["judge", "/no/such/file"], "/no/such/file"),
        (["layouts", "demo-7x7"], "demo-7x6"),
        (["layouts", "check", "/no/such/file"], "/no/such/file"),
        (["practice"], "--list"),
        (["practice", "sund", "--serve"], "did you mean sound"),
        (["try", "sund"], "did you mean sound"),
        (["report", "/no/such/file", "-o", "/tmp/x.html"], "/no/such/file"),
        (["prove", "--port", "/dev/no-such-port"], "/dev/no-such-port"),
    ],
)
def test_a_wrong_call_ends_with_2_and_says_what_was_expected(arguments: list[str], word: str, capsys: Capture) -> None:
    assert word in wrong(capsys, *arguments)


def test_a_recording_is_never_overwritten(recording: Path, capsys: Capture) -> None:
    before = recording.read_bytes()
    capsys.readouterr()
    call = ["test", "--port", "practice:sound", "--layout", "demo-7x6", "--record", str(recording)]
    assert "ever overwritten" in wrong(capsys, *call)
    assert recording.read_bytes() == before


def test_an_absent_port_is_untestable_with_a_document(capsys: Capture) -> None:
    assert main(["test", "--port", "/dev/no-such-port", "--layout", "demo-7x6", "--json"]) == 4
    said = capsys.readouterr()
    document = json.loads(said.out)
    assert document["verdict"] == "untestable" and document["findings"] == []
    assert "next step" in said.err


def test_marks_with_problems_name_file_line_and_key(tmp_path: Path, capsys: Capture) -> None:
    marks = tmp_path / "marks.yaml"
    marks.write_text("- {at: 3, do: press, key: Q}\n- {at: 4, do: pres, key: QQ}\n")
    said = wrong(capsys, "test", "--port", "practice:sound", "--layout", "demo-7x6", "--marks", str(marks))
    assert f"{marks}:2" in said and "did you mean press" in said and "QQ" in said


def test_untried_keys_are_unproven(capsys: Capture) -> None:
    assert main(["test", "--port", "practice:sound", "--layout", "demo-7x6", "--seconds", "6", "--json"]) == 3
    document = json.loads(capsys.readouterr().out)
    assert document["verdict"] == "unproven" and document["coverage"]["untried"]


def test_a_torn_recording_is_judged_with_a_word_about_the_tear(recording: Path, capsys: Capture) -> None:
    capsys.readouterr()
    recording.write_bytes(recording.read_bytes()[:-40])
    assert main(["judge", str(recording), "--json"]) in (1, 3, 4)
    said = capsys.readouterr()
    assert json.loads(said.out)["format"] == "tailwise-findings/1"
    assert "torn" in said.err


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"", ":1:"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", ":1:"),
        (b'{"format":"something/1"}\n', ":1:"),
        (b'{"format":"tailwise-recording/2","layout":"demo-7x6"}\n', "update"),
        (b'{"format":"tailwise-recording/1","layout":"no-such"}\n', "no-such"),
        (b'{"format":"tailwise-recording/1","layout":"demo-7x6","wiring":{"R1":0}}\n', "R2"),
    ],
)
@pytest.mark.parametrize("command", ["judge", "export", "report"])
def test_a_file_that_is_no_recording_is_named_with_its_line(
    content: bytes, word: str, command: str, tmp_path: Path, capsys: Capture
) -> None:
    path = tmp_path / "file"
    path.write_bytes(content)
    more = {"judge": [], "export": ["--vcd", str(tmp_path / "x")], "report": ["-o", str(tmp_path / "x")]}[command]
    said = wrong(capsys, command, str(path), *more)
    assert str(path) in said and word in said


def test_the_readable_verdict_needs_no_colour(recording: Path, capsys: Capture) -> None:
    capsys.readouterr()
    code = main(["judge", str(recording)])
    said = capsys.readouterr()
    assert code == 3 and said.out.startswith("? UNPROVEN") and "\x1b" not in said.out


@pytest.mark.parametrize("name", shipped_ids())
def test_layouts_are_shown_as_text_and_as_json(name: str, capsys: Capture) -> None:
    assert main(["layouts", name]) == 0
    assert name in capsys.readouterr().out
    assert main(["layouts", name, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["id"] == name


def test_all_layouts_are_listed(capsys: Capture) -> None:
    assert main(["layouts"]) == 0
    listed = capsys.readouterr().out
    assert all(name in listed for name in shipped_ids())
    assert main(["layouts", "--json"]) == 0
    assert [layout["id"] for layout in json.loads(capsys.readouterr().out)] == shipped_ids()


def test_layouts_check_gives_0_or_1(tmp_path: Path, capsys: Capture) -> None:
    good = ROOT / "layouts" / "demo-7x6.yaml"
    assert main(["layouts", "check", str(good)]) == 0
    bad = tmp_path / "bad.yaml"
    bad.write_text(good.read_text().replace("row: R1, column: C1", "row: R9, column: C1"))
    assert main(["layouts", "check", str(bad)]) == 1
    said = capsys.readouterr()
    assert f"{bad}:" in said.out and "R9" in said.out


def test_a_run_on_a_serial_port_ends_after_its_seconds(capsys: Capture) -> None:
    with PtyBoard(FakeBoard()) as board:
        code = main(["test", "--port", board.path, "--layout", "demo-7x6", "--seconds", "0.3", "--json"])
    assert code == 4
    assert json.loads(capsys.readouterr().out)["link"]["frames"] > 5


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_an_interrupt_ends_the_run_and_judges_what_there_is(number: signal.Signals, tmp_path: Path) -> None:
    record = tmp_path / "run.twrec"
    with PtyBoard(FakeBoard()) as board:
        call = ["test", "--port", board.path, "--layout", "demo-7x6", "--json", "--record", str(record)]
        process = subprocess.Popen(
            [sys.executable, "-m", "tailwise", *call],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(ROOT / "host")},
            text=True,
        )
        assert process.stderr is not None
        for line in process.stderr:
            if "scanning" in line:
                break
        killer = threading.Timer(60, process.kill)
        killer.start()
        process.send_signal(number)
        out, _ = process.communicate()
        killer.cancel()
    assert process.returncode == 4 and json.loads(out)["verdict"] == "untestable"
    assert '"end"' in record.read_text().splitlines()[-1]


def test_ports_lists_and_opens_nothing(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    import serial

    from tailwise.link import ports
    from tailwise.link.ports import PortInfo

    def never(*args: object, **more: object) -> None:
        raise AssertionError("opened a port")

    monkeypatch.setattr(serial.Serial, "open", never)
    monkeypatch.setattr(ports, "serial_ports", lambda: [PortInfo("/dev/ttyACM0", "Board", (1, 2), "7")])
    assert main(["ports"]) == 0
    assert capsys.readouterr().out == "/dev/ttyACM0  0001:0002  7  Board\n"
    monkeypatch.setattr(ports, "serial_ports", list)
    assert main(["ports"]) == 0
    said = capsys.readouterr()
    assert said.out == "" and "no serial ports" in said.err


def test_without_a_terminal_the_app_says_what_to_do(capsys: Capture) -> None:
    assert "tailwise test" in wrong(capsys)
