"""What every benchmark shares: its bars, exact limits, and the two ways it prints.

The value of a rate is its exact one-sided 95 % limit (Clopper-Pearson) on the favourable side at that number of runs, so that
few runs do not fail a good tool by chance.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from scipy import stats

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: holds where value stands to limit as `sense` says ("<=" or ">=")."""

    name: str
    value: float
    limit: float
    sense: str
    note: str = ""

    @property
    def holds(self) -> bool:
        return self.value <= self.limit if self.sense == "<=" else self.value >= self.limit


@dataclass
class Outcome:
    """What a benchmark found: its bars, and lines of a table for people."""

    bars: list[Bar] = field(default_factory=list)
    table: list[str] = field(default_factory=list)


def upper_limit(hits: int, runs: int) -> float:
    """Largest rate that still shows so few hits with 5 % chance; 1 where nothing was run."""
    return 1.0 if hits >= runs else float(stats.beta.ppf(CONFIDENCE, hits + 1, runs - hits))


def lower_limit(hits: int, runs: int) -> float:
    """Smallest rate that still shows so many hits with 5 % chance; 0 where nothing was run."""
    return 0.0 if hits <= 0 else float(stats.beta.ppf(1 - CONFIDENCE, hits, runs - hits + 1))


def at_least(name: str, hits: int, runs: int, limit: float) -> Bar:
    """A rate that must reach `limit`."""
    return Bar(name, upper_limit(hits, runs), limit, ">=", f"{hits} of {runs}")


def at_most(name: str, hits: int, runs: int, limit: float) -> Bar:
    """A rate that must not pass `limit`."""
    return Bar(name, lower_limit(hits, runs), limit, "<=", f"{hits} of {runs}")


def run_bench(name: str, bench: Callable[[int, int], Outcome], *, runs: int, argv: Sequence[str] | None = None) -> int:
    """Parse --runs, --seed and --json, run, print; 0 where every bar holds, 1 otherwise."""
    parser = argparse.ArgumentParser(prog=f"python -m tests.bench.{name}")
    parser.add_argument("--runs", type=int, default=runs, help=f"runs of each class ({runs})")
    parser.add_argument("--seed", type=int, default=1, help="seed (1)")
    parser.add_argument("--json", action="store_true", help="one object instead of a table")
    options = parser.parse_args(argv)
    if options.runs < 1:
        parser.error("--runs must be 1 or more")
    return report(name, bench(options.runs, options.seed), options.runs, options.seed, as_json=options.json)


def report(name: str, outcome: Outcome, runs: int, seed: int, *, as_json: bool) -> int:
    """Print an outcome; the exit code."""
    if as_json:
        bars = [
            {"name": bar.name, "value": bar.value, "limit": bar.limit, "sense": bar.sense, "holds": bar.holds}
            for bar in outcome.bars
        ]
        json.dump({"bench": name, "runs": runs, "seed": seed, "bars": bars}, sys.stdout)
        print()
    else:
        for line in outcome.table:
            print(line)
        wide = max((len(bar.name) for bar in outcome.bars), default=0)
        for bar in outcome.bars:
            mark = "holds" if bar.holds else "FAILS"
            print(f"{bar.name:<{wide}}  {bar.value:12.6g} {bar.sense} {bar.limit:<10g} {mark}  {bar.note}")
    return 0 if all(bar.holds for bar in outcome.bars) else 1
