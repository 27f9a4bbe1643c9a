"""Many recordings judged at once: on every core, a bar on standard error, a line each and a summary on standard output."""

from __future__ import annotations

import json
import os
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tailwise.cli import exits
from tailwise.diagnose.priors import DEFAULT_PRIORS, Priors
from tailwise.layoutfile.nodes import FileProblems
from tailwise.live.folder import SUFFIX
from tailwise.recording.format import RecordingError
from tailwise.verdict.rubric import Rubric
from tailwise.words import reportcli as words

BAR = 30
WORST_FIRST = (exits.CALL, exits.UNTESTABLE, exits.FAULTY, exits.UNPROVEN, exits.SOUND)


@dataclass(frozen=True, slots=True)
class Judged:
    """One recording's document, or why it could not be judged; notes are for standard error."""

    path: str
    document: dict[str, Any] | None
    problem: str = ""
    notes: tuple[str, ...] = ()


def find_recordings(given: Sequence[Path]) -> list[Path]:
    """The files named, and every recording (*.twrec) below the folders named, sorted."""
    found: list[Path] = []
    for path in given:
        found += sorted(path.rglob(f"*{SUFFIX}")) if path.is_dir() else [path]
    return found


def _judge_one(job: tuple[str, Rubric | None, Priors]) -> Judged:
    from tailwise.judge.judge import fed_judge
    from tailwise.recording.reader import read_recording

    path, rubric, priors = job
    try:
        recording = read_recording(Path(path))
        judge = fed_judge(recording, rubric=rubric, file=path, priors=priors)
        return Judged(path, judge.document(), notes=(*recording.damage, *judge.notes))
    except (RecordingError, FileProblems) as error:
        return Judged(path, None, str(error))
    except OSError as error:
        return Judged(path, None, f"{path}: {error.strerror or error}")


def judge_all(
    paths: Sequence[Path], rubric: Rubric | None = None, cores: int | None = None, priors: Priors = DEFAULT_PRIORS
) -> Iterator[Judged]:
    """Judge each, in order; `cores` processes (default: all)."""
    jobs = [(str(path), rubric, priors) for path in paths]
    count = cores or os.cpu_count() or 1
    if count == 1 or len(jobs) < 4:
        yield from map(_judge_one, jobs)
        return
    with ProcessPoolExecutor(count) as pool:
        yield from pool.map(_judge_one, jobs, chunksize=max(1, min(16, len(jobs) // (4 * count))))


def run_batch(given: Sequence[Path], rubric: Rubric | None, cores: int | None, priors: Priors, *, as_json: bool) -> int:
    """The whole batch; the exit code is the gravest of all."""
    paths = find_recordings(given)
    results = []
    for number, result in enumerate(judge_all(paths, rubric, cores, priors), start=1):
        _bar(number, len(paths))
        results.append(result)
        for note in result.notes:
            print(f"{result.path}: {note}", file=sys.stderr)
        if result.problem:
            print(result.problem, file=sys.stderr)
    if as_json:
        print(json.dumps([{"recording": each.path, "findings": each.document} for each in results], ensure_ascii=False))
    else:
        _table(results)
    codes = {exits.CALL if each.document is None else exits.OF_VERDICT[each.document["verdict"]] for each in results}
    return next((code for code in WORST_FIRST if code in codes), exits.CALL)


def _bar(done: int, whole: int) -> None:
    if not sys.stderr.isatty():
        return
    filled = BAR * done // whole
    print(f"\r{'=' * filled}{'.' * (BAR - filled)} {done}/{whole}", end="\n" if done == whole else "", file=sys.stderr)


def _table(results: Sequence[Judged]) -> None:
    counts: Counter[str] = Counter()
    for each in results:
        if each.document is None:
            counts[words.BATCH_BAD] += 1
            continue
        document = each.document
        counts[document["verdict"]] += 1
        what = "; ".join(
            " ".join([finding["kind"].replace("_", " "), *(finding["lines"] or finding["keys"])])
            for finding in document["findings"]
        )
        print(words.batch_line(each.path, document["verdict"], document["grade"], document["label"], what))
    print(words.batch_head(len(results)))
    for word, number in sorted(counts.items()):
        print(words.summary(word, number, len(results)))
