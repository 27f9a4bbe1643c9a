"""Flexing under statistics: seeded membranes with a crack that opens only while its zone is moved, fingers that wobble.

Truth: flex_truth.py. Hands, and what a board sees of them: flex_hands.py. Judged: the engine's findings at the moment the
operator stops. A share of the runs goes through the bytes of the protocol and must give the same findings.

With --image: the real firmware image in the simulated board instead, see flex_image.py.
"""

from __future__ import annotations

import argparse
import random
import statistics
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field

from scipy import stats

from tailwise.diagnose.engine import diagnose
from tailwise.layoutfile.library import find_layout
from tailwise.model.fault import FaultKind
from tailwise.model.finding import Finding
from tailwise.model.layout import Layout
from tailwise.procedure.holdset import hold_set
from tailwise.procedure.witness import witnesses
from tests.bench import flex_image
from tests.bench.common import Bar, Outcome, at_least, at_most, report
from tests.bench.flex_hands import Session, apart_again, by_hold_set, by_witnesses
from tests.bench.flex_truth import SECOND, Fault
from tests.observe.watchboard import WatchBoard

LAYOUTS = ("demo-7x6", "demo-8x8")
THROUGH_BYTES = 50
LEAST_RIVAL = 0.05
MOST_FOLLOWED = 2
CONTACT_KINDS = (FaultKind.INTERMITTENT_CONTACT, FaultKind.BOUNCING_CONTACT, FaultKind.WEAK_CONTACT, FaultKind.DEAD_CONTACT)


@dataclass
class Score:
    """Hits of one class of runs."""

    runs: int = 0
    right: int = 0
    unclaimed: int = 0
    seconds: list[float] = field(default_factory=list)
    operator_s: list[float] = field(default_factory=list)


def chosen(rng: random.Random) -> tuple[Layout, str]:
    """A layout and one of its zones."""
    layout = find_layout(rng.choice(LAYOUTS))
    return layout, rng.choice([zone.name for zone in layout.zones if zone.reachable])


def is_line(finding: Finding, line: str, zone: str) -> bool:
    """The right line and the right zone."""
    return finding.fault.kind is FaultKind.INTERMITTENT_LINE and finding.fault.lines == (line,) and finding.zone == zone


def accuses_line(findings: tuple[Finding, ...]) -> bool:
    """Some line is called faulty."""
    return any(finding.fault.kind not in CONTACT_KINDS for finding in findings)


def cracked_line(rng: random.Random, score: Score) -> Session:
    """A suspect line through its witnesses."""
    layout, zone = chosen(rng)
    line = rng.choice(layout.lines)
    session = Session(layout, rng, Fault(line=line, zone=zone))
    by_witnesses(session, line)
    findings = concluded(session)
    score.runs += 1
    score.unclaimed += not findings
    if len(findings) == 1 and is_line(findings[0], line, zone):
        score.right += 1
        score.seconds.append(session.flexed_us / SECOND)
    return session


def whole_keyboard(rng: random.Random, score: Score) -> None:
    """Any line through the hold-down set, within six minutes."""
    layout, zone = chosen(rng)
    line = rng.choice(layout.lines)
    session = Session(layout, rng, Fault(line=line, zone=zone))
    by_hold_set(session)
    findings = concluded(session)
    score.runs += 1
    score.unclaimed += not findings
    score.operator_s.append(session.operator_s)
    score.right += len(findings) == 1 and is_line(findings[0], line, zone) and session.operator_s <= 360


def faulty_contact(rng: random.Random, score: Score, whole: bool) -> None:
    """One contact that comes and goes with a zone: no line may be blamed."""
    layout, zone = chosen(rng)
    line = rng.choice(layout.lines)
    key = rng.choice(hold_set(layout).keys if whole else witnesses(layout, line).keys)
    session = Session(layout, rng, Fault(key=key, zone=zone))
    if whole:
        by_hold_set(session)
    else:
        by_witnesses(session, line)
    findings = concluded(session)
    score.runs += 1
    score.unclaimed += not findings
    score.right += not accuses_line(findings)


def concluded(session: Session) -> tuple[Finding, ...]:
    """The findings once their rivals were followed: where a contact may be it as well, its row and column apart."""
    findings = diagnose(session.observations())
    for _ in range(MOST_FOLLOWED):
        key = next((key for finding in findings for key in contact_rivals(finding) if key not in session.separated), None)
        if key is None:
            break
        apart_again(session, key, most_flexed(session, key))
        findings = diagnose(session.observations())
    return findings


def contact_rivals(finding: Finding) -> list[str]:
    """Contacts that may be it as well as the line that is accused."""
    kinds = (FaultKind.INTERMITTENT_CONTACT, FaultKind.INTERMITTENT_LINE)
    if finding.fault.kind not in kinds:
        return []
    near = [rival.fault for rival in finding.rivals if rival.probability >= LEAST_RIVAL]
    return [key for fault in near if fault.kind is FaultKind.INTERMITTENT_CONTACT for key in fault.keys]


def most_flexed(session: Session, key: str) -> str:
    """The zone in which a key opened most often."""
    starts = [dropout.start_us for dropout in session.observations().dropouts if key in dropout.lost]
    bent = [step for step in session.steps if step.zone is not None]
    return max(bent, key=lambda step: sum(step.start_us <= at < step.end_us for at in starts)).zone or ""


def sound_membrane(rng: random.Random, score: Score, whole: bool) -> None:
    """Nothing is wrong but the fingers."""
    layout, _ = chosen(rng)
    session = Session(layout, rng, Fault())
    if whole:
        by_hold_set(session)
    else:
        by_witnesses(session, rng.choice(layout.lines))
    score.runs += 1
    score.right += bool(concluded(session))


def same_through_bytes(session: Session) -> bool:
    """The watch of a session as a board's bytes, folded and judged: the same accusation."""
    first, second = session.last_openings
    one, two = session.last_pairs
    start, end = session.last_span
    board = WatchBoard(
        session.layout, (one, two), (tuple(first), tuple(second)), start, end, marks=tuple(session.marks), board_lines=24
    )
    told = [(each.fault, each.zone) for each in diagnose(session.observations())]
    return told == [(each.fault, each.zone) for each in diagnose(board.observations())]


def median_at_least(values: list[float]) -> float:
    """The exact one-sided 95 % lower limit of a median: the order statistic that the sign test does not yet refuse."""
    place = int(stats.binom.ppf(0.05, len(values), 0.5))
    return sorted(values)[max(0, place - 1)] if values else 0.0


def bench(runs: int, seed: int) -> Outcome:
    """All classes."""
    line, whole, contact, sound = Score(), Score(), Score(), Score()
    through = agreeing = 0
    for number in range(runs):
        rng = random.Random(f"{seed} {number}")
        session = cracked_line(rng, line)
        if number % THROUGH_BYTES == 0 and len(session.watches) == 1:
            through += 1
            agreeing += same_through_bytes(session)
        whole_keyboard(rng, whole)
        faulty_contact(rng, contact, number % 2 == 1)
        sound_membrane(rng, sound, number % 2 == 1)
    median = statistics.median(line.seconds) if line.seconds else 99.0
    minutes = statistics.median(whole.operator_s) / 60
    bars = [
        at_least("right line and zone within 20 s of flexing it", line.right, runs, 0.95),
        Bar("median seconds of flexing it", median_at_least(line.seconds), 9.0, "<=", f"median {median:.2f}"),
        at_least("whole keyboard within 6 minutes", whole.right, runs, 0.95),
        at_least("contacts not called lines", contact.right, runs, 0.99),
        at_most("sound membranes accused", sound.right, runs, 0.01),
        at_least("same findings through bytes", agreeing, through, 1.0),
    ]
    table = [
        f"cracked line: {line.right}/{runs} right, {line.unclaimed} unclaimed, median {median:.1f} s of flexing its zone",
        f"whole keyboard: {whole.right}/{runs} right, {whole.unclaimed} unclaimed, median {minutes:.1f} min of the operator",
        f"faulty contact: {runs - contact.right} called lines, {contact.unclaimed} unclaimed",
        f"sound: {sound.right} accused",
        f"through bytes: {agreeing} of {through} the same",
    ]
    return Outcome(bars, table)


def main(argv: Sequence[str] | None = None) -> int:
    """Either benchmark; 0 where every bar holds, 1 otherwise."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.flex")
    parser.add_argument("--image", action="store_true", help="the real firmware image in the simulated board")
    parser.add_argument("--runs", type=int, default=1000, help="runs of each class, with --image openings of each class (1000)")
    parser.add_argument("--seed", type=int, default=1, help="seed (1)")
    parser.add_argument("--json", action="store_true", help="one object instead of a table")
    minutes = f"with --image: simulated minutes of a sound membrane ({flex_image.MINUTES})"
    parser.add_argument("--minutes", type=float, default=flex_image.MINUTES, help=minutes)
    options = parser.parse_args(argv)
    if options.runs < 1:
        parser.error("--runs must be 1 or more")
    if options.minutes <= 0:
        parser.error("--minutes must be more than 0")
    if options.image:
        outcome = flex_image.bench(options.runs, options.seed, options.minutes)
    else:
        outcome = bench(options.runs, options.seed)
    return report("flex", outcome, options.runs, options.seed, as_json=options.json)


if __name__ == "__main__":
    sys.exit(main())
