"""Kills, two writers, foreign, damaged, future and old files, a full disk."""

from __future__ import annotations

import multiprocessing
import os
import random
import shutil
import signal
import sqlite3
from pathlib import Path

import pytest

from tailwise.ledger import schema
from tailwise.ledger.errors import LedgerError
from tailwise.ledger.store import Ledger
from tests.ledger.samples import finding, run

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures" / "ledger"


def _save_until_killed(path: Path, pipe: int, start: int, before: int, after_us: int) -> None:
    """Save runs; after `before` of them the kernel ends the process at some moment of the ones that follow."""
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    ledger = Ledger(path)
    number = start
    while True:
        if number == start + before:
            signal.setitimer(signal.ITIMER_REAL, after_us / 1e6)
        recording = random.Random(number).randbytes(20_000)
        ledger.save_run(run(f"KB-{number}", finding(), recording=recording))
        os.write(pipe, number.to_bytes(4, "little"))
        number += 1


def test_two_hundred_kills_lose_nothing_that_was_finished(tmp_path: Path) -> None:
    path = tmp_path / "ledger.sqlite"
    Ledger(path).close()
    rng = random.Random(20_03)
    finished: set[int] = set()
    fork = multiprocessing.get_context("fork")
    for kill in range(200):
        reading, writing = os.pipe()
        arguments = (path, writing, kill * 10_000, rng.randrange(3), rng.randrange(50, 12_000))
        child = fork.Process(target=_save_until_killed, args=arguments)
        child.start()
        os.close(writing)
        said = b""
        while part := os.read(reading, 4096):
            said += part
        os.close(reading)
        child.join()
        assert child.exitcode == -signal.SIGALRM
        finished |= {int.from_bytes(said[at : at + 4], "little") for at in range(0, len(said) // 4 * 4, 4)}
    ledger = Ledger(path)
    kept = {int(entry.label.removeprefix("KB-")): entry for entry in ledger.keyboards(limit=100_000)}
    assert len(finished) > 50
    assert finished <= kept.keys()
    for number, entry in kept.items():
        assert entry.runs == 1 and entry.last_run is not None
        assert ledger.recording(entry.last_run) == random.Random(number).randbytes(20_000)
        assert len(ledger.run(entry.last_run).document["findings"]) == 1
    ledger.close()


def _save_many(where: str, name: str, count: int) -> None:
    ledger = Ledger(where)
    for number in range(count):
        ledger.save_run(run("shared", recording=f"{name} {number}".encode()))
        ledger.mate("J1")
    ledger.close()


def test_two_programs_write_at_once(where: str) -> None:
    context = multiprocessing.get_context("spawn")
    writers = [context.Process(target=_save_many, args=(where, name, 20)) for name in ("left", "right")]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert [writer.exitcode for writer in writers] == [0, 0]
    ledger = Ledger(where)
    assert ledger.keyboard("shared").runs == 40
    assert ledger.connectors() == {"J1": 40}
    ledger.close()


def _foreign(path: Path) -> None:
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE recipes (name TEXT)")


def _text(path: Path) -> None:
    path.write_text("label,layout\nKB-1,demo-7x6\n" * 40)


def _future(path: Path) -> None:
    Ledger(path).close()
    with sqlite3.connect(path) as raw:
        raw.execute("UPDATE tailwise_about SET value = '99' WHERE name = 'schema'")
        raw.execute("PRAGMA journal_mode = DELETE")


def _damaged(path: Path) -> None:
    ledger = Ledger(path)
    for number in range(30):
        ledger.save_run(run(f"KB-{number}", recording=random.Random(number).randbytes(4000)))
    ledger.close()
    with sqlite3.connect(path) as raw:
        raw.execute("PRAGMA journal_mode = DELETE")
    raw.close()
    whole = bytearray(path.read_bytes())
    for page in range(2, len(whole) // 4096 - 1):
        whole[page * 4096 : page * 4096 + 40] = b"\xa5" * 40
    path.write_bytes(bytes(whole))


@pytest.mark.parametrize(
    ("make", "says"),
    [(_foreign, "is not a tailwise ledger"), (_text, "damaged"), (_future, "schema version 99"), (_damaged, "damaged")],
)
def test_what_is_not_ours_is_refused_and_left_untouched(make: object, says: str, tmp_path: Path) -> None:
    path = tmp_path / "other.sqlite"
    assert callable(make)
    make(path)
    before = path.read_bytes()
    with pytest.raises(LedgerError, match=says) as refusal:
        Ledger(path)
    assert "left untouched" in str(refusal.value)
    assert path.read_bytes() == before


def test_version_1_is_migrated_with_everything_in_it(tmp_path: Path) -> None:
    path = tmp_path / "old.sqlite"
    shutil.copy(FIXTURES / "version-1.sqlite", path)
    ledger = Ledger(path)
    entry = ledger.keyboard("KB-0001")
    assert (entry.layout, entry.notes, entry.donor, entry.runs) == ("demo-7x6", "from the attic", False, 1)
    assert entry.last_run is not None
    old = ledger.run(entry.last_run)
    assert (old.stage, old.keys, old.document["findings"][0]["kind"]) == ("", {}, "open_line")
    assert ledger.recording(entry.last_run) == b"an old recording"
    ledger.save_run(run("KB-0001", recording=b"new"))
    ledger.change("KB-0001", donor=True)
    ledger.close()
    assert Ledger(path).keyboard("KB-0001").donor


def test_a_migration_that_fails_leaves_the_old_ledger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "old.sqlite"
    shutil.copy(FIXTURES / "version-1.sqlite", path)
    monkeypatch.setattr(schema, "VERSION", 3)
    with pytest.raises(KeyError):
        Ledger(path)
    monkeypatch.undo()
    assert Ledger(path).keyboard("KB-0001").runs == 1


def test_a_full_disk_is_said_clearly_and_loses_nothing(tmp_path: Path) -> None:
    ledger = Ledger(tmp_path / "ledger.sqlite")
    ledger.save_run(run("KB-1"))
    with ledger.engine.connect() as connection:
        raw = connection.connection.dbapi_connection
        assert isinstance(raw, sqlite3.Connection)
        pages = raw.execute("PRAGMA page_count").fetchone()[0]
        raw.execute(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(LedgerError, match="disk is full"):
        ledger.save_run(run("KB-2", recording=random.Random(1).randbytes(500_000)))
    assert [entry.label for entry in ledger.keyboards()] == ["KB-1"]
    ledger.close()


def test_a_server_that_is_not_there_is_said_clearly(tmp_path: Path) -> None:
    with pytest.raises(LedgerError, match="server cannot be reached"):
        Ledger(f"postgresql://nobody@/nothing?host={tmp_path}")
    with pytest.raises(LedgerError, match="check the URL"):
        Ledger("nonsense://x")
