"""What reseating a tail in the middle of a run told about a line: sentences from the trials before and after the mark."""

from __future__ import annotations

from tailwise.diagnose.evidence import Evidence
from tailwise.model.fault import Fault
from tailwise.model.mark import Deed, Mark
from tailwise.words import diagnosis as say


def about_reseats(fault: Fault, evidence: Evidence) -> tuple[str, ...]:
    """One sentence for each reseat after which the fault's lines could be heard again, moved or not."""
    sentences: list[str] = []
    for mark in evidence.observations.marks:
        if mark.do is not Deed.RESEAT:
            continue
        moved = [line for line in fault.lines if _at(mark, line, evidence) and _silent_then(line, mark, evidence, seen=True)]
        stayed = [line for line in fault.lines if _at(mark, line, evidence) and _silent_then(line, mark, evidence, seen=False)]
        if moved:
            sentences.append(say.moved_by_reseat(moved, mark.at_us))
        if stayed:
            sentences.append(say.unmoved_by_reseat(stayed, mark.at_us))
    return tuple(sentences)


def _at(mark: Mark, line: str, evidence: Evidence) -> bool:
    """True where the mark names no tail, or that of the line."""
    tails = evidence.parts.layout.tails or ()
    return mark.tail is None or any(tail.name == mark.tail and line in tail.lines for tail in tails)


def _silent_then(line: str, mark: Mark, evidence: Evidence, *, seen: bool) -> bool:
    """True where every trial of the line just before the mark was silent and those after were all seen, or all silent."""
    trials = sorted(
        trial
        for key in evidence.parts.layout.keys_on[line]
        if key in evidence.records
        for trial in evidence.records[key].trials
    )
    before = [outcome for at, outcome in trials if at < mark.at_us][-3:]
    after = [outcome for at, outcome in trials if at >= mark.at_us]
    return bool(before and after) and not any(before) and (all(after) if seen else not any(after))
