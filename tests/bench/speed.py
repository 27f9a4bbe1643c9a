"""Speed of whole commands and of the ledger, as processor time where a bar names seconds, and as ratios where two ways compare.

The ledger's 100,000 runs are invented rows put in by one bulk insert; what is timed goes through the ledger's own calls.
"""

from __future__ import annotations

import json
import random
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tailwise.cli.batch import judge_all
from tailwise.judge.judge import fed_judge
from tailwise.ledger import schema
from tailwise.ledger.compare import compare
from tailwise.ledger.store import Ledger
from tailwise.recording.reader import parse_recording
from tailwise.report.facts import gather
from tailwise.report.page import build_page
from tests.bench.common import Bar, Outcome, run_bench

LEDGER_RUNS = 100_000
BATCH = 1000


def _seconds(work: Callable[[], object], times: int) -> float:
    """Median wall time."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def _processor_seconds(*command: str) -> float:
    """User and system time of a command, from the operating system."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _fill(ledger: Ledger, rng: random.Random) -> None:
    document = json.dumps(
        {
            "verdict": "faulty",
            "grade": "failed",
            "tool": "t",
            "findings": [{"kind": "open_line", "lines": ["C1"], "keys": ["1"]}],
        }
    )
    boards = LEDGER_RUNS // 4
    with ledger.writing() as connection:
        stamp = "2026-01-01T00:00:00Z"
        connection.execute(
            schema.keyboards.insert(),
            [
                {
                    "id": n,
                    "label": f"KB-{n:06}",
                    "layout": f"demo-{n % 3}",
                    "owner": f"owner {rng.randrange(5000)}",
                    "created": stamp,
                }
                for n in range(1, boards + 1)
            ],
        )
        connection.execute(
            schema.runs.insert(),
            [
                {
                    "id": n, "keyboard_id": 1 + n % boards, "saved": stamp, "verdict": "faulty", "grade": "failed", "tool": "t",
                    "fingerprint": f"{n:064x}", "document": document,
                }
                for n in range(1, LEDGER_RUNS + 1)
            ],
        )  # fmt: skip
        rows = [
            {"run_id": n, "place": 0, "kind": "open_line", "lines": "C1", "keys": "1", "probability": 0.9}
            for n in range(1, LEDGER_RUNS + 1)
        ]
        connection.execute(schema.findings.insert(), rows)


def _recording(folder: Path) -> Path:
    path = folder / "run.twrec"
    command = ["-m", "tailwise", "test", "--port", "practice:open-column", "--layout", "demo-7x6", "--every-key-pressed"]
    subprocess.run(
        [sys.executable, *command, "--record", str(path)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False
    )
    return path


def bench(runs: int, seed: int) -> Outcome:
    """Each figure is the median of `runs` measurements (the batch is judged once each way)."""
    outcome = Outcome()
    folder = Path(tempfile.mkdtemp())
    try:
        helps = [_processor_seconds(sys.executable, "-m", "tailwise", "--help") for _ in range(runs)]
        outcome.bars.append(Bar("processor seconds of tailwise --help", statistics.median(helps), 0.2, "<="))
        path = _recording(folder)
        raw = path.read_bytes()

        def page() -> str:
            recording = parse_recording(raw, "run")
            judge = fed_judge(recording)
            return build_page(gather(judge.observations(), judge.document(), raw, recording.header.created))

        outcome.bars.append(Bar("seconds to judge and report", _seconds(page, runs), 1.0, "<="))
        outcome.bars.append(Bar("bytes of a report", float(len(page().encode())), 500_000, "<="))
        ledger = Ledger(folder / "ledger.sqlite")
        _fill(ledger, random.Random(f"speed {seed}"))
        outcome.bars += [
            Bar("seconds to search 100,000 runs", _seconds(lambda: ledger.keyboards("owner 123"), runs), 0.1, "<="),
            Bar(
                "seconds to compare two of 100,000",
                _seconds(lambda: compare(ledger.run(5), ledger.run(99_000)), runs),
                0.1,
                "<=",
            ),
            Bar("seconds to open the ledger and list", _seconds(lambda: _open_and_list(folder), runs), 0.5, "<="),
        ]
        ledger.close()
        copies = []
        for number in range(BATCH):
            copies.append(folder / f"copy-{number}.twrec")
            shutil.copy(path, copies[-1])
        one = _seconds(lambda: list(judge_all(copies, cores=1)), 1)
        two = _seconds(lambda: list(judge_all(copies, cores=2)), 1)
        outcome.bars.append(Bar("batch of 1000 on two cores against one, times as fast", one / two, 1.6, ">="))
        outcome.table.append(f"batch of {BATCH}: {one:.1f} s on one core, {two:.1f} s on two")
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    return outcome


def _open_and_list(folder: Path) -> None:
    ledger = Ledger(folder / "ledger.sqlite")
    ledger.keyboards(limit=200)
    ledger.close()


if __name__ == "__main__":
    sys.exit(run_bench("speed", bench, runs=5))
