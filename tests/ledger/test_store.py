"""Saving, searching and changing, the same on SQLite and PostgreSQL."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from tailwise.ledger.compare import compare
from tailwise.ledger.copying import back_up, restore
from tailwise.ledger.errors import LedgerError, NotFound
from tailwise.ledger.statistics import statistics
from tailwise.ledger.store import KeyResult, Ledger
from tailwise.ledger.table import write_table
from tests.ledger.samples import finding, run


def test_a_saved_run_comes_back_whole(ledger: Ledger) -> None:
    number = ledger.save_run(run("KB-7", finding(), recording=bytes(range(256)) * 50, board_id="00ff", stage="before"))
    entry = ledger.run(number)
    assert (entry.label, entry.verdict, entry.grade, entry.stage, entry.board_id) == (
        "KB-7",
        "faulty",
        "failed",
        "before",
        "00ff",
    )
    assert entry.keys == {"1": KeyResult(2), "2": KeyResult(0, 812.5)}
    assert entry.document["findings"] == [finding()]
    assert ledger.recording(number) == bytes(range(256)) * 50


def test_search_looks_in_label_owner_and_notes_whatever_the_case(ledger: Ledger) -> None:
    for label in ("KB-1", "KB-2", "100%_odd"):
        ledger.save_run(run(label))
    ledger.change("KB-1", owner="Mira Holt", notes="smells of tea", donor=True)
    assert [entry.label for entry in ledger.keyboards("holt")] == ["KB-1"]
    assert [entry.label for entry in ledger.keyboards("TEA")] == ["KB-1"]
    assert [entry.label for entry in ledger.keyboards("0%_o")] == ["100%_odd"]
    assert [entry.label for entry in ledger.keyboards("%")] == ["100%_odd"]
    assert [entry.label for entry in ledger.keyboards(donor=True)] == ["KB-1"]
    assert [entry.label for entry in ledger.keyboards()] == ["100%_odd", "KB-2", "KB-1"]
    assert ledger.keyboards(layout="demo-8x8") == []


def test_the_newest_run_stands_for_its_keyboard(ledger: Ledger) -> None:
    ledger.save_run(run("KB-1", finding(), recording=b"a"))
    last = ledger.save_run(run("KB-1", recording=b"b"))
    entry = ledger.keyboard("KB-1")
    assert (entry.runs, entry.last_run, entry.last_verdict, entry.last_grade) == (2, last, "sound", "fit")
    assert [each.recording for each in (run("KB-1", recording=b"a"),)] == [b"a"]


def test_refusals_add_nothing_and_say_what_to_do(ledger: Ledger) -> None:
    number = ledger.save_run(run("KB-1", recording=b"a"))
    with pytest.raises(LedgerError, match=f"already run {number} of KB-1"):
        ledger.save_run(run("KB-1", recording=b"a"))
    with pytest.raises(LedgerError, match="in the ledger as a demo-7x6"):
        ledger.save_run(run("KB-1", recording=b"b", layout="demo-8x8"))
    with pytest.raises(LedgerError, match="needs a label"):
        ledger.save_run(run("  "))
    with pytest.raises(NotFound, match="did you mean KB-1"):
        ledger.keyboard("KB-l")
    with pytest.raises(NotFound, match="no run 99"):
        ledger.run(99)
    with pytest.raises(NotFound):
        ledger.change("nobody", notes="x")
    assert [each.run for each in ledger.runs_of("KB-1")] == [number]


def test_before_and_after(ledger: Ledger) -> None:
    keys = {"1": KeyResult(0), "2": KeyResult(3, 900.0), "3": KeyResult(1)}
    before = ledger.save_run(run("KB-1", finding(), finding("dead_contact", (), ("3",)), recording=b"a", keys=keys))
    keys = {"1": KeyResult(2), "2": KeyResult(5, 85.0), "3": KeyResult(4)}
    after = ledger.save_run(
        run("KB-1", finding("dead_contact", (), ("3",)), finding("short", ("C1", "C2"), ()), recording=b"b", keys=keys)
    )
    change = compare(ledger.run(before), ledger.run(after))
    assert [each["kind"] for each in change.gone] == ["open_line"]
    assert [each["kind"] for each in change.new] == ["short"]
    assert [each["kind"] for each in change.same] == ["dead_contact"]
    assert [(each.key, each.presses, each.loop_ohm) for each in change.keys] == [
        ("1", (0, 2), (None, None)),
        ("2", (3, 5), (900.0, 85.0)),
    ]
    assert change.same_keyboard and change.same_layout


def test_matings_are_counted_and_begun_anew(ledger: Ledger) -> None:
    assert [ledger.mate("J1"), ledger.mate("J1", 3), ledger.mate("J2")] == [1, 4, 1]
    ledger.renew_connector("J1")
    assert ledger.connectors() == {"J1": 0, "J2": 1}


def test_statistics_count_each_keyboard_once_by_its_newest_run(ledger: Ledger) -> None:
    ledger.save_run(run("KB-1", finding(), recording=b"a"))
    ledger.save_run(run("KB-1", recording=b"b"))
    ledger.save_run(run("KB-2", finding(), finding(keys=("3",), lines=("C2",)), recording=b"a"))
    ledger.save_run(run("KB-3", finding("short"), recording=b"a", layout="demo-8x8"))
    numbers = statistics(ledger)
    assert numbers.keyboards == 3
    assert numbers.kinds == {("demo-7x6", "open_line"): 1, ("demo-8x8", "short"): 1}
    assert numbers.grades == {("demo-7x6", "fit"): 1, ("demo-7x6", "failed"): 1, ("demo-8x8", "failed"): 1}
    assert statistics(ledger, "demo-8x8").keyboards == 1


def test_the_table_is_inert_in_a_spreadsheet(ledger: Ledger) -> None:
    ledger.save_run(run("=HYPERLINK(1)", finding()))
    ledger.change("=HYPERLINK(1)", notes='said "hello", left\nearly')
    out = io.StringIO()
    assert write_table(ledger, out) == 1
    assert "\n'=HYPERLINK(1)," in out.getvalue()
    assert '"said ""hello"", left\nearly"' in out.getvalue()


def test_backup_and_restore_carry_everything(ledger: Ledger, tmp_path: Path) -> None:
    for number in range(3):
        ledger.save_run(run(f"KB-{number}", finding(), recording=b"x" * number))
    ledger.mate("J1", 7)
    copy = tmp_path / "copy.sqlite"
    back_up(ledger, copy)
    assert sorted(path.name for path in tmp_path.glob("copy*")) == ["copy.sqlite"]
    fresh = Ledger(tmp_path / "fresh.sqlite")
    restore(copy, fresh)
    assert [entry.label for entry in fresh.keyboards()] == ["KB-2", "KB-1", "KB-0"]
    assert fresh.run(3) == ledger.run(3)
    assert fresh.recording(3) == b"xx"
    assert fresh.connectors() == {"J1": 7}
    assert fresh.save_run(run("KB-9")) == 4
    with pytest.raises(LedgerError, match="nothing was restored"):
        restore(copy, fresh)
    with pytest.raises(LedgerError, match="exists already"):
        back_up(ledger, copy)
    fresh.close()


def test_a_backup_restored_onto_a_server_goes_on_numbering(postgres_url: str, tmp_path: Path) -> None:
    local = Ledger(tmp_path / "local.sqlite")
    for number in range(4):
        local.save_run(run("KB-1", recording=bytes([number])))
    back_up(local, tmp_path / "copy.sqlite")
    server = Ledger(postgres_url)
    restore(tmp_path / "copy.sqlite", server)
    assert server.save_run(run("KB-1", recording=b"new")) == 5
    local.close()
    server.close()
