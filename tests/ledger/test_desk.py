"""What a bench does with a finished run."""

from __future__ import annotations

from pathlib import Path

import pytest

from tailwise.layoutfile.library import find_layout
from tailwise.ledger.desk import earlier_run, free_label, insertions, next_label, save_recording
from tailwise.ledger.errors import LedgerError
from tailwise.ledger.store import WORN_AT, Ledger
from tailwise.live.run import Run, RunSettings
from tailwise.model.mark import Deed, Mark
from tailwise.report.writing import write_page

LAYOUT = find_layout("demo-7x6")


def recorded(path: Path, scenario: str = "cured-by-reseating", label: str = "") -> Path:
    for _ in Run(RunSettings(f"practice:{scenario}", LAYOUT, label=label, record=path, progress_hz=0)).events():
        pass
    return path


@pytest.mark.parametrize(
    ("label", "after"),
    [
        ("KB-0042", "KB-0043"),
        ("KB-0999", "KB-1000"),
        ("9", "10"),
        ("lot 7 no 03b", "lot 7 no 04b"),
        ("attic find", "attic find-2"),
        ("", "KB-0001"),
    ],
)
def test_labels_are_counted_on(label: str, after: str) -> None:
    assert next_label(label) == after


def test_a_run_is_one_insertion_of_every_tail_and_a_reseat_one_more() -> None:
    reseats = [Mark(0, Deed.RESEAT, tail="J2"), Mark(1, Deed.PRESS, key="Q"), Mark(2, Deed.RESEAT)]
    assert insertions(LAYOUT, []) == {"demo-7x6 J1": 1, "demo-7x6 J2": 1}
    assert insertions(LAYOUT, reseats) == {"demo-7x6 J1": 2, "demo-7x6 J2": 3}
    assert insertions(LAYOUT, [], same_insertion=True) == {}
    assert insertions(LAYOUT, reseats[:1], same_insertion=True) == {"demo-7x6 J2": 1}


def test_a_saved_run_counts_and_warns_and_is_never_counted_twice(tmp_path: Path) -> None:
    ledger = Ledger(tmp_path / "ledger.sqlite")
    path = recorded(tmp_path / "run.twrec")
    done = save_recording(ledger, path, "KB-0001")
    assert (done.label, done.run) == ("KB-0001", 1)
    assert done.insertions >= 1 and not done.worn
    before = ledger.connectors()
    with pytest.raises(LedgerError):
        save_recording(ledger, path, "KB-0001")
    assert ledger.connectors() == before
    ledger.mate("demo-7x6 J1", WORN_AT)
    assert save_recording(ledger, path, "KB-0002").worn == ("demo-7x6 J1",)
    assert free_label(ledger, "KB-0001") == "KB-0003"
    assert free_label(ledger, "") == "KB-0003"
    ledger.close()


def test_the_run_before_goes_onto_the_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TAILWISE_DATA", str(tmp_path))
    ledger = Ledger(tmp_path / "ledger.sqlite")
    assert free_label(ledger, "") == "KB-0001"
    first, second = recorded(tmp_path / "1.twrec", "dead-key"), recorded(tmp_path / "2.twrec", "sound")
    assert earlier_run(ledger, "KB-0001", first.read_bytes()) is None
    save_recording(ledger, first, "KB-0001")
    assert earlier_run(ledger, "KB-0001", first.read_bytes()) is None
    before = earlier_run(ledger, "KB-0001", second.read_bytes())
    assert before is not None and before.run == 1
    save_recording(ledger, second, "KB-0001")
    assert earlier_run(ledger, "KB-0001", second.read_bytes()) == before
    page = write_page(second.read_bytes(), "2.twrec", "KB-0001", (before.document, before.saved))
    assert page.parent == tmp_path / "reports" and page.name.startswith("KB-0001-")
    text = page.read_text(encoding="utf-8")
    assert "KB-0001" in text
    assert write_page(second.read_bytes(), "2.twrec", "../../etc/x").parent == page.parent
    ledger.close()
