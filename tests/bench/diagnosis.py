"""The engine against seeded random membranes: kind, place, false alarms, honesty, order of presses, time.

`python -m tests.bench.diagnosis [--runs N] [--seed N] [--json] [--without RULE] [--prove-rules]`: --without switches one rule
of the engine off, --prove-rules shows for each rule that the benchmark fails without it. Every run goes through the bytes of
the practice bench with missed and doubled presses, wrong keys, bounce and 0.1 % of frames lost; in one of twenty ngspice
works out the readings.
"""

from __future__ import annotations

import argparse
import math
import os
import sys
from collections.abc import Sequence
from itertools import pairwise
from multiprocessing import Pool
from random import Random

from scipy import stats

from tailwise.diagnose.engine import diagnose
from tailwise.diagnose.hypotheses import Rule
from tailwise.diagnose.priors import DEFAULT_PRIORS
from tailwise.diagnose.sidebyside import side_by_side
from tailwise.layoutfile.library import find_layout
from tailwise.model.fault import Fault, FaultKind, Steadiness
from tailwise.model.layout import Layout
from tailwise.practice.operator import Press
from tailwise.practice.planted import Planted
from tests.bench import diagnosis_classes as classes
from tests.bench.common import Bar, Outcome, at_least, at_most, report
from tests.bench.diagnosis_guided import compare_orders, inference_ms
from tests.bench.diagnosis_marks import Marked, mark_one, mark_other, mark_sound, mark_two
from tests.bench.diagnosis_runs import play, walk
from tests.bench.diagnosis_truth import CUTS, JOINS, every_cut, silenced

LAYOUTS = ("demo-7x6", "demo-8x8", "demo-10x8")
SPICE_EVERY = 20
SOUND, HASTY, TWO, DRAWN, OTHER = "sound", "sound, asked once", "two faults", "drawn by the priors", "wrong_layout"
BINS = (0.0, 0.6, 0.85, 0.95, 1.0001)
FAULTS = {case.name: case.plant for case in (*classes.STEADY, *classes.FLICKERING)}
NAMES = (*FAULTS, OTHER, TWO, SOUND, HASTY, DRAWN)
CARRIES = {
    Rule.OPEN_LINES: ("open_line",),
    Rule.CRACKS: ("cracked_tail",),
    Rule.STRETCHES: ("broken_trace",),
    Rule.CONTACTS: ("dead_contact",),
    Rule.INTERMITTENT: ("intermittent_line",),
    Rule.JOINED: ("short",),
    Rule.STUCK: ("stuck_contact",),
    Rule.MAPPING: ("tail_misplaced",),
    Rule.DIODES: ("diode_fault",),
    Rule.BOUNCE: ("bouncing_contact",),
    Rule.MISSES: (HASTY,),
    Rule.CLEARED: ("dead_contact",),
    Rule.SEVERAL: (TWO,),
    Rule.HELD: ("foreign_voltage",),
    Rule.HARNESS: ("harness_fault",),
    Rule.LEAKS: ("leak",),
    Rule.OTHER_KEYBOARD: (OTHER,),
}
"""Rule -> the classes that fail without it."""

Task = tuple[str, int, int, frozenset[Rule]]


def one_run(task: Task) -> Marked:
    """One run of one class."""
    name, number, seed, off = task
    chance = Random(f"{name} {seed} {number}")
    layout = find_layout("demo-10x8" if name == "diode_fault" else LAYOUTS[number % len(LAYOUTS)])
    run_seed = chance.randrange(2**31)
    spice = number % SPICE_EVERY == SPICE_EVERY - 1
    if name in (SOUND, HASTY):
        script = walk(layout, frozenset(), run_seed) if name == SOUND else (Press(),)
        played = play(layout, (), script, run_seed, spice=spice)
        return mark_sound(name, played, diagnose(played.observations, off=off))
    if name == OTHER:
        real = classes.other_keyboard(layout, chance)
        played = play(layout, (), walk(layout, frozenset(), run_seed), run_seed, real_layout=real)
        return mark_other(played, diagnose(played.observations, off=off))
    if name == TWO:
        pair = _visible_pair(layout, chance)
        lost = silenced(layout, [each.fault for each in pair])
        played = play(layout, pair, walk(layout, lost, run_seed), run_seed, spice=spice)
        return mark_two(layout, [each.fault for each in pair], played, diagnose(played.observations, off=off))
    planted = _drawn(layout, chance) if name == DRAWN else FAULTS[name](layout, chance)
    script = walk(layout, _dead(layout, planted), run_seed) + classes.watch(layout, planted, chance)
    played = play(layout, (planted,), script, run_seed, spice=spice)
    return mark_one(name, layout, planted.fault, played, diagnose(played.observations, off=off))


def _dead(layout: Layout, planted: Planted) -> frozenset[str]:
    """Keys an operator finds silent and asks for again."""
    fault = planted.fault
    if fault.steadiness is Steadiness.INTERMITTENT:
        return frozenset()
    if fault.kind in CUTS or planted.way == "open":
        return silenced(layout, (fault,))
    return frozenset()


def _visible_pair(layout: Layout, chance: Random) -> tuple[Planted, Planted]:
    """Two faults of which neither hides the other."""
    while True:
        one, other = (chance.choice(classes.PAIRED)(layout, chance) for _ in range(2))
        lost = [silenced(layout, (each.fault,)) for each in (one, other)]
        joined = {line for each in (one, other) if each.fault.kind in JOINS for line in each.fault.lines}
        keys = {key for each in (one, other) for key in each.fault.keys if each.fault.kind in JOINS}
        cut = {line for each in (one, other) if each.fault.kind in CUTS for line in each.fault.lines}
        hides = all(lost) and (lost[0] <= lost[1] or lost[1] <= lost[0])
        same = one.fault.lines == other.fault.lines and one.fault.kind in JOINS and other.fault.kind in JOINS
        if (
            not hides
            and not same
            and not joined & cut
            and not keys & (lost[0] | lost[1])
            and len(lost[0] | lost[1]) < len(layout.keys)
        ):
            return one, other


def _drawn(layout: Layout, chance: Random) -> Planted:
    """One fault, each as often as the table of priors says."""
    table = DEFAULT_PRIORS
    options: list[tuple[Planted, float]] = []
    weights = {
        FaultKind.HARNESS_FAULT: table.harness_lead,
        FaultKind.BROKEN_TRACE: table.broken_stretch,
        FaultKind.DEAD_CONTACT: table.dead_contact,
        FaultKind.DIODE_FAULT: table.diode_open,
        FaultKind.OPEN_LINE: table.open_line + table.broken_stretch,
    }
    for fault in dict.fromkeys(every_cut(layout)):
        if fault.kind is FaultKind.CRACKED_TAIL:
            growth = table.crack_growth ** (len(fault.lines) - 2)
            weight = table.cracked_edge * (1 - table.crack_growth) * growth
        else:
            weight = weights[fault.kind]
        options.append((Planted(fault, way="open" if fault.kind is FaultKind.DIODE_FAULT else ""), weight))
    with_diode = {diode.line for diode in layout.diodes}
    tails = [tail.lines for tail in layout.tails or ()]
    near = {frozenset(pair) for lines in tails for pair in pairwise(lines)}
    for place, one in enumerate(layout.lines):
        for other in layout.lines[place + 1 :]:
            pair = frozenset((one, other))
            keys = layout.keys_at.get(pair, ())
            lines = tuple(sorted(pair))
            if keys:
                options.append((Planted(Fault(FaultKind.STUCK_CONTACT, lines, keys[:1]), ohm=60.0), table.stuck_contact))
            weight = (
                table.short_neighbours
                if pair in near
                else table.short_side_by_side
                if side_by_side(layout, one, other)
                else table.short_far
            )
            if not keys and not pair & with_diode:
                leak = math.exp(chance.uniform(math.log(1000.0), math.log(14000.0)))
                options.append((Planted(Fault(FaultKind.LEAK, lines), ohm=leak), weight * table.leak_share))
                options.append((Planted(Fault(FaultKind.SHORT, lines), ohm=50.0), weight * (1 - table.leak_share)))
    usable = [each for each in options if len(silenced(layout, (each[0].fault,))) < len(layout.keys)]
    return chance.choices([each for each, _ in usable], [weight for _, weight in usable])[0]


def bench(runs: int, seed: int, off: frozenset[Rule] = frozenset(), names: Sequence[str] = NAMES, jobs: int = 1) -> Outcome:
    """Every class `runs` times."""
    tasks: list[Task] = [(name, number, seed, off) for name in names for number in range(runs)]
    if jobs > 1:
        with Pool(jobs) as pool:
            marked = pool.map(one_run, tasks, chunksize=4)
    else:
        marked = [one_run(task) for task in tasks]
    by_name = {name: [each for each, task in zip(marked, tasks, strict=True) if task[0] == name] for name in names}
    outcome = Outcome(table=[*_table(by_name)])
    for name, marks in by_name.items():
        outcome.bars += _bars(name, marks)
    faulty = [each for name, marks in by_name.items() if name not in (SOUND, HASTY) for each in marks if each.counted]
    if faulty:
        outcome.bars.append(Bar("fault that showed called sound", sum(each.called_sound for each in faulty), 0, "<="))
    if DRAWN in by_name:
        outcome.bars.append(_calibration(by_name[DRAWN], outcome))
    if set(names) == set(NAMES):
        guided, fixed = compare_orders(max(12, runs), seed, LAYOUTS)
        outcome.table.append(f"presses from the first silent key to the verdict: guided {guided}, fixed order {fixed}")
        outcome.bars.append(Bar("guided presses per press in fixed order", guided / max(1, fixed), 0.5, "<="))
        outcome.bars.append(Bar("one inference on 16x8 with two faults, ms", inference_ms(), 100.0, "<="))
    return outcome


def _bars(name: str, marks: list[Marked]) -> list[Bar]:
    counted = [each for each in marks if each.counted]
    right = sum(each.right for each in counted)
    if name in (SOUND, HASTY):
        return [at_most(f"{name}: called faulty", sum(each.called_faulty for each in marks), len(marks), 0.001)]
    if name == TWO:
        return [at_least("two faults: both right", right, len(counted), 0.95)]
    bars = [at_least(f"{name}: right", right, len(counted), 0.99)]
    if name in ("broken_trace", "intermittent trace"):
        placed = sum(not each.wrong_place and each.right for each in counted)
        bars.append(at_least(f"{name}: place", placed, len(counted), 0.97))
    return bars


def _table(by_name: dict[str, list[Marked]]) -> list[str]:
    heads = ("runs", "right", "wrong kind", "wrong place", "missed", "false alarms", "mean P", "not shown")
    lines = [f"{'':<22}" + "".join(f"{head:>13}" for head in heads)]
    for name, marks in by_name.items():
        counted = [each for each in marks if each.counted]
        mean = math.fsum(each.truth_chance for each in counted) / max(1, len(counted))
        cells = (
            len(marks),
            sum(each.right for each in counted),
            sum(each.wrong_kind for each in counted),
            sum(each.wrong_place for each in counted),
            sum(each.missed for each in counted) if name not in (SOUND, HASTY) else 0,
            sum(each.false_alarms for each in counted),
            f"{mean:.3f}",
            len(marks) - len(counted),
        )
        lines.append(f"{name:<22}" + "".join(f"{cell!s:>13}" for cell in cells))
    return lines


def _calibration(marks: list[Marked], outcome: Outcome) -> Bar:
    """Bins whose mean stated probability lies outside the exact interval of how often it was right."""
    stated = [each for one in marks for each in one.stated]
    off = 0
    bins = list(pairwise(BINS))
    level = 1 - 0.05 / len(bins)
    for low, high in bins:
        inside = [each for each in stated if low <= each[0] < high]
        if not inside:
            continue
        mean = math.fsum(chance for chance, _ in inside) / len(inside)
        interval = stats.binomtest(sum(right for _, right in inside), len(inside)).proportion_ci(level, "exact")
        off += not interval.low <= mean <= interval.high
        share = f"right {interval.low:.3f} .. {interval.high:.3f}"
        outcome.table.append(f"stated {low:.2f} to {min(high, 1):.2f}: {len(inside)} findings, mean {mean:.3f}, {share}")
    return Bar("bins of stated probability that are off", off, 0, "<=")


def prove_rules(runs: int, seed: int, jobs: int) -> int:
    """Switch each rule off in turn; 0 where the benchmark fails every time."""
    idle = 0
    for rule, names in CARRIES.items():
        outcome = bench(runs, seed, frozenset({rule}), names, jobs)
        failing = [bar.name for bar in outcome.bars if not bar.holds]
        idle += not failing
        print(f"without {rule.value:<14} {'fails: ' + ', '.join(failing) if failing else 'HOLDS'}", flush=True)
    return 1 if idle else 0


def main(argv: Sequence[str] | None = None) -> int:
    """Parse, run, print; 0 where every bar holds."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.diagnosis")
    parser.add_argument("--runs", type=int, default=60, help="runs of each class (60)")
    parser.add_argument("--seed", type=int, default=1, help="seed (1)")
    parser.add_argument("--json", action="store_true", help="one object instead of a table")
    parser.add_argument(
        "--without", action="append", default=[], choices=[rule.value for rule in Rule], help="switch a rule off"
    )
    parser.add_argument("--only", action="append", default=[], choices=NAMES, help="only this class")
    parser.add_argument("--prove-rules", action="store_true", help="show for each rule that the benchmark fails without it")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="processes (one a core)")
    options = parser.parse_args(argv)
    if options.runs < 1:
        parser.error("--runs must be 1 or more")
    if options.prove_rules:
        return prove_rules(options.runs, options.seed, options.jobs)
    off = frozenset(Rule(name) for name in options.without)
    outcome = bench(options.runs, options.seed, off, options.only or NAMES, options.jobs)
    return report("diagnosis", outcome, options.runs, options.seed, as_json=options.json)


if __name__ == "__main__":
    sys.exit(main())
