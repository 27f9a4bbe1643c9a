"""Socket or membrane: what a reseated tail, or a second run past the socket, tells about a line.

Idea: two runs of one keyboard are one set of observations with a deed between them. A line that was silent and works after
its tail was reseated sits badly in the socket or is worn at the tail's end; one that stays silent is likelier broken further
up. A line that works past the socket is whole on the film: what is left is the socket. The machine's own socket and the chip
behind it are never in the loop of the harness, so they are listed as not tested.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from tailwise.diagnose.components import Components
from tailwise.diagnose.engine import diagnose
from tailwise.diagnose.evidence import VOUCHED_TRIALS, Evidence
from tailwise.diagnose.priors import DEFAULT_PRIORS, Priors
from tailwise.model.finding import Finding
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Attempt, AttemptResult, LineHeld, Observations, WatchSpan
from tailwise.observe.tried import silent_keys
from tailwise.words import diagnosis as say

PAUSE_US = 1_000_000


class Between(StrEnum):
    """What was done between two runs."""

    RESEATED = "reseated"
    PAST_SOCKET = "past_socket"


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two runs as one. changed: lines whose keys answered differently; not_tested: sentences."""

    findings: tuple[Finding, ...]
    changed: tuple[str, ...]
    unchanged: tuple[str, ...]
    not_tested: tuple[str, ...]


def diagnose_pair(first: Observations, second: Observations, between: Between, priors: Priors = DEFAULT_PRIORS) -> Comparison:
    """The findings of both runs together; ValueError where they are of different layouts."""
    if first.layout.id != second.layout.id:
        raise ValueError(f"two runs of one keyboard are needed, not of {first.layout.id} and {second.layout.id}")
    before, after = _silent_lines(first), _silent_lines(second)
    changed = tuple(sorted(before - after))
    unchanged = tuple(sorted(before & after))
    if between is Between.PAST_SOCKET:
        found = (*(_at_socket(each, changed) for each in diagnose(first, priors)), *_new(first, second, priors))
        return Comparison(found, changed, unchanged, (say.NOT_TESTED_CHIP,))
    seam = max(first.end_us, _last(first)) + PAUSE_US
    found = diagnose(_appended(first, second, seam), priors)
    told = tuple(_after_reseat(each, changed, unchanged, seam) for each in found)
    return Comparison(told, changed, unchanged, (say.NOT_TESTED_SOCKET, say.NOT_TESTED_CHIP))


def _silent_lines(observations: Observations) -> frozenset[str]:
    """Lines of which at least two keys, or the only one, were asked for and none answered."""
    parts = Components(observations.layout)
    evidence = Evidence(observations, parts)
    found = set()
    for line, keys in parts.on_line.items():
        silent = (keys & evidence.silent).bit_count()
        if silent and not keys & evidence.seen and (silent > 1 or keys.bit_count() == 1):
            found.add(line)
    return frozenset(found)


def _new(first: Observations, second: Observations, priors: Priors) -> tuple[Finding, ...]:
    known = {each.fault for each in diagnose(first, priors)}
    return tuple(each for each in diagnose(second, priors) if each.fault not in known)


def _at_socket(finding: Finding, changed: tuple[str, ...]) -> Finding:
    lines = [line for line in finding.fault.lines if line in changed]
    if not lines:
        return finding
    return replace(finding, evidence=(*finding.evidence, say.works_past_socket(lines)), next_step=say.step_socket(lines))


def _after_reseat(finding: Finding, changed: tuple[str, ...], unchanged: tuple[str, ...], at_us: int) -> Finding:
    moved = [line for line in finding.fault.lines if line in changed]
    stayed = [line for line in finding.fault.lines if line in unchanged]
    about = finding.evidence
    if moved:
        about = (*about, say.moved_by_reseat(moved, at_us))
    if stayed:
        about = (*about, say.unmoved_by_reseat(stayed, at_us))
    return replace(finding, evidence=about)


def _last(observations: Observations) -> int:
    return max((each.end_us or each.start_us for each in observations.presses), default=0)


def _stated(observations: Observations) -> tuple[Attempt, ...]:
    """Silent presses for the keys that only the statement 'every key was pressed' vouches for, at the end of the run.

    In two runs joined as one the statement alone would be lost: the key may have answered in the other run.
    """
    asked = {attempt.key for attempt in observations.attempts}
    end = observations.end_us
    silent = [key for key in silent_keys(observations) if key not in asked]
    return tuple(Attempt(key, end, end, AttemptResult.SILENT) for key in silent for _ in range(VOUCHED_TRIALS))


def _appended(first: Observations, second: Observations, seam: int) -> Observations:
    """The second run after the first, a reseat mark between; what either rest check showed counts."""

    def later(at_us: int) -> int:
        return at_us + seam

    presses = tuple(
        replace(each, start_us=later(each.start_us), end_us=None if each.end_us is None else later(each.end_us))
        for each in second.presses
    )
    attempts = tuple(
        replace(each, start_us=later(each.start_us), end_us=later(each.end_us)) for each in (*second.attempts, *_stated(second))
    )
    dropouts = tuple(replace(each, start_us=later(each.start_us), end_us=later(each.end_us)) for each in second.dropouts)
    joined = tuple(replace(each, start_us=later(each.start_us), end_us=later(each.end_us)) for each in second.joined)
    watches = tuple(_watched_later(each, seam) for each in second.watches)
    held = {line: state for line, state in second.held.items() if state in (LineHeld.HIGH, LineHeld.LOW)}
    blind = tuple(replace(each, start_us=later(each.start_us), end_us=later(each.end_us)) for each in second.blind)
    marks = tuple(replace(each, at_us=later(each.at_us)) for each in second.marks)
    closures = dict(first.closures)
    for pair, count in second.closures.items():
        closures[pair] = closures.get(pair, 0) + count
    return replace(
        first,
        presses=first.presses + presses,
        attempts=(*first.attempts, *_stated(first), *attempts),
        dropouts=first.dropouts + dropouts,
        joined=first.joined + joined,
        watches=first.watches + watches,
        held=first.held | held,
        elsewhere=tuple(sorted({*first.elsewhere, *second.elsewhere})),
        blind=first.blind + blind,
        marks=(*first.marks, Mark(seam, Deed.RESEAT), *marks),
        closures=closures,
        every_key_pressed=False,
        end_us=later(second.end_us),
    )


def _watched_later(watch: WatchSpan, seam: int) -> WatchSpan:
    return replace(
        watch,
        start_us=watch.start_us + seam,
        end_us=watch.end_us + seam,
        closed=tuple((start + seam, end + seam) for start, end in watch.closed),
        unlisted=tuple((start + seam, end + seam, count, open_us) for start, end, count, open_us in watch.unlisted),
    )
