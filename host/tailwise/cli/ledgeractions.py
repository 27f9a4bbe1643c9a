"""What each action of `tailwise ledger` prints."""

from __future__ import annotations

import argparse
import dataclasses
import json
import sys
from collections.abc import Callable, Sequence
from typing import Any

from tailwise.ledger import sampling
from tailwise.ledger.compare import compare
from tailwise.ledger.copying import back_up, restore
from tailwise.ledger.saving import run_from_recording
from tailwise.ledger.statistics import statistics
from tailwise.ledger.store import WORN_AT, Ledger, RunEntry
from tailwise.ledger.table import write_table
from tailwise.words import commands, ledgercli
from tailwise.words import ledger as ledger_words

PAGE = 1000


def _names(findings: Sequence[dict[str, Any]]) -> list[str]:
    return [" ".join([each["kind"].replace("_", " "), *(each["lines"] or each["keys"])]) for each in findings]


def _print_json(value: object) -> None:
    print(json.dumps(value, ensure_ascii=False, sort_keys=True, indent=1))


def _run_json(run: RunEntry) -> dict[str, Any]:
    return dataclasses.asdict(run)


def _add(ledger: Ledger, arguments: argparse.Namespace) -> None:
    for path in arguments.recordings:
        new, notes = run_from_recording(path.read_bytes(), str(path), label=arguments.label, stage=arguments.stage)
        for note in notes:
            print(commands.damage(str(path), note), file=sys.stderr)
        number = ledger.save_run(new)
        print(ledgercli.saved(new.label, number, new.document["verdict"], new.document["grade"]))
        for connector in arguments.connector:
            matings = ledger.mate(connector)
            if matings >= WORN_AT:
                print(ledger_words.WORN.format(name=connector, matings=matings), file=sys.stderr)


def _list(ledger: Ledger, arguments: argparse.Namespace) -> None:
    found = ledger.keyboards(arguments.search, layout=arguments.layout, donor=arguments.donor, limit=PAGE)
    if arguments.json:
        _print_json([dataclasses.asdict(entry) for entry in found])
        return
    for each in found:
        line = ledgercli.keyboard_line(
            each.label, each.layout, each.runs, each.last_verdict or "-", each.last_grade or "-", each.last_saved or "-",
            each.donor, each.owner,
        )  # fmt: skip
        print(line)
    if not found:
        print(ledgercli.EMPTY, file=sys.stderr)


def _show(ledger: Ledger, arguments: argparse.Namespace) -> None:
    if arguments.what.isdecimal() and not ledger.keyboards(arguments.what, limit=1):
        runs = [ledger.run(int(arguments.what))]
    else:
        runs = ledger.runs_of(arguments.what)
    if arguments.json:
        _print_json([_run_json(run) for run in runs])
        return
    entry = ledger.keyboard(runs[0].label if runs else arguments.what)
    print(f"{entry.label}  {entry.layout}  since {entry.created}{'  donor' if entry.donor else ''}")
    for text in (entry.owner, entry.notes):
        if text:
            print(f"  {text}")
    for run in runs:
        findings = _names(run.document["findings"])
        print(ledgercli.run_line(run.run, run.saved, run.verdict, run.grade, run.stage, findings))


def _compare(ledger: Ledger, arguments: argparse.Namespace) -> None:
    change = compare(ledger.run(arguments.before), ledger.run(arguments.after))
    if arguments.json:
        _print_json(
            {
                "before": _run_json(change.before),
                "after": _run_json(change.after),
                "gone": change.gone,
                "new": change.new,
                "same": change.same,
                "keys": [dataclasses.asdict(key) for key in change.keys],
            }
        )
        return
    if not change.same_keyboard:
        print(ledgercli.NOT_SAME_KEYBOARD, file=sys.stderr)
    if not change.same_layout:
        print(ledgercli.NOT_SAME_LAYOUT, file=sys.stderr)
    for word, run in (("before", change.before), ("after", change.after)):
        print(
            ledgercli.run_line(run.run, run.saved, run.verdict, run.grade, run.stage or word, _names(run.document["findings"]))
        )
    for word, findings in (("gone", change.gone), ("new", change.new), ("still there", change.same)):
        print(ledgercli.change_line(word, _names(findings)))
    for key in change.keys:
        print(ledgercli.key_line(key.key, *key.presses, *key.loop_ohm))


def _set(ledger: Ledger, arguments: argparse.Namespace) -> None:
    changes: dict[str, str | bool] = {}
    if arguments.owner is not None:
        changes["owner"] = arguments.owner
    if arguments.notes is not None:
        changes["notes"] = arguments.notes
    if arguments.donor is not None:
        changes["donor"] = arguments.donor == "yes"
    if changes:
        ledger.change(arguments.label, **changes)
    print(ledger.keyboard(arguments.label).label)


def _csv(ledger: Ledger, arguments: argparse.Namespace) -> None:
    if arguments.output is None:
        write_table(ledger, sys.stdout)
        return
    with arguments.output.open("x", encoding="utf-8", newline="") as out:
        write_table(ledger, out)


def _extract(ledger: Ledger, arguments: argparse.Namespace) -> None:
    raw = ledger.recording(arguments.number)
    with arguments.file.open("xb") as out:
        out.write(raw)


def _backup(ledger: Ledger, arguments: argparse.Namespace) -> None:
    print(ledgercli.rows_copied(back_up(ledger, arguments.file), str(arguments.file)))


def _restore(ledger: Ledger, arguments: argparse.Namespace) -> None:
    print(ledgercli.rows_copied(restore(arguments.file, ledger), ledger.where))


def _stats(ledger: Ledger, arguments: argparse.Namespace) -> None:
    numbers = statistics(ledger, arguments.layout)
    for layout in sorted({name for name, _ in numbers.verdicts}):
        whole = sum(count for (name, _), count in numbers.verdicts.items() if name == layout)
        print(f"{layout}: {whole}")
        for table in (numbers.grades, numbers.kinds):
            for (name, word), count in table.items():
                if name == layout:
                    print(ledgercli.share(word.replace("_", " "), count, whole))


def _lot(ledger: Ledger, arguments: argparse.Namespace) -> None:
    plan = sampling.Plan(arguments.sample, arguments.allowed)
    numbers = statistics(ledger, arguments.layout)
    tested = sum(count for (_, verdict), count in numbers.verdicts.items() if verdict in ("sound", "faulty"))
    faulty = sum(count for (_, verdict), count in numbers.verdicts.items() if verdict == "faulty")
    fate = sampling.decide(plan, tested, faulty)
    print(ledgercli.lot_line(tested, faulty, plan.sample, plan.allowed, fate.accepted, fate.missing))
    print(ledgercli.lot_risks(sampling.share_at(plan, 0.95), sampling.share_at(plan, 0.05)))


def _connectors(ledger: Ledger, arguments: argparse.Namespace) -> None:
    if arguments.new is not None:
        ledger.renew_connector(arguments.new)
    counted = ledger.connectors()
    for name, matings in sorted(counted.items()):
        print(f"{name:<20} {matings:>4}" + ("  worn" if matings >= WORN_AT else ""))
    if not counted:
        print(ledgercli.NO_CONNECTORS, file=sys.stderr)


ACTIONS: dict[str, Callable[[Ledger, argparse.Namespace], None]] = {
    "add": _add,
    "list": _list,
    "show": _show,
    "compare": _compare,
    "set": _set,
    "csv": _csv,
    "extract": _extract,
    "backup": _backup,
    "restore": _restore,
    "stats": _stats,
    "lot": _lot,
    "connectors": _connectors,
}
