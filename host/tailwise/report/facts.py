"""Everything a report says, gathered once from the observations and the judged document; renderings only arrange it."""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import dataclass
from typing import Any

from tailwise.model.layout import Layout
from tailwise.model.mark import Deed
from tailwise.model.observation import Observations
from tailwise.words import report as words
from tailwise.words.judge import BLIND_WATCH

STATE_OF_KIND = {
    "open_line": "silent",
    "cracked_tail": "silent",
    "broken_trace": "silent",
    "dead_contact": "silent",
    "weak_contact": "weak",
    "weak_line": "weak",
    "bouncing_contact": "flickers",
    "intermittent_line": "flickers",
    "intermittent_contact": "flickers",
    "stuck_contact": "stuck",
    "diode_fault": "doubtful",
}
"""Kind of finding -> state of the keys it names; the other kinds name lines only."""

WORST_FIRST = ("stuck", "silent", "flickers", "weak", "doubtful", "untried", "works")


@dataclass(frozen=True, slots=True)
class KeyFact:
    """One key: its state, how often it was seen closed, its loop resistance in ohms where measured."""

    id: str
    legend: str
    row: str | None
    column: str | None
    state: str
    presses: int
    loop_ohm: float | None


@dataclass(frozen=True, slots=True)
class ZoneFact:
    """Watching while one zone was flexed (None: left alone): seconds watched and drop-outs read."""

    zone: str | None
    seconds: float
    drops: int


@dataclass(frozen=True)
class ReportFacts:
    """The facts of one run."""

    layout: Layout
    document: dict[str, Any]
    keys: dict[str, KeyFact]
    zones: tuple[ZoneFact, ...]
    blind_s: float
    rest_done: bool
    scan_us: int
    date: str
    fingerprint: str
    grade_reason: str = ""
    watched_s: float = 0.0

    @property
    def short_fingerprint(self) -> str:
        """The first 12 digits, enough to tell recordings apart on a label."""
        return self.fingerprint[:12]


def gather(
    observations: Observations, document: dict[str, Any], recording: bytes, created: str, grade_reason: str = ""
) -> ReportFacts:
    """Facts from what was observed and judged; `created` is the recording's own date, ISO 8601."""
    return ReportFacts(
        layout=observations.layout,
        document=document,
        keys=_keys(observations, document),
        zones=_zones(observations),
        blind_s=sum(blind.length_us for blind in observations.blind if blind.why != BLIND_WATCH) / 1e6,
        watched_s=sum(blind.length_us for blind in observations.blind if blind.why == BLIND_WATCH) / 1e6,
        rest_done=observations.rest_done,
        scan_us=observations.scan_us,
        date=created[:10],
        fingerprint=hashlib.sha256(recording).hexdigest(),
        grade_reason=grade_reason,
    )


def _keys(observations: Observations, document: dict[str, Any]) -> dict[str, KeyFact]:
    presses = Counter(press.key for press in observations.presses if press.certain)
    states: dict[str, set[str]] = {}
    for finding in document["findings"]:
        for key in finding["keys"]:
            states.setdefault(key, set()).add(STATE_OF_KIND.get(finding["kind"], "doubtful"))
        if finding["kind"] in ("short", "leak"):
            for line in finding["lines"]:
                for key in observations.layout.keys_on.get(line, ()):
                    states.setdefault(key, set()).add("doubtful")
    untried = set(document["coverage"]["untried"])
    facts = {}
    for key in observations.layout.keys:
        found = states.get(key.id, set())
        if key.id in untried or not key.crosspoints:
            found = found | {"untried"}
        state = next((each for each in WORST_FIRST if each in found), "works")
        if state == "works" and not presses[key.id]:
            state = "untried"
        facts[key.id] = KeyFact(key.id, key.legend, key.row, key.column, state, presses[key.id], None)
    return facts


def _zones(observations: Observations) -> tuple[ZoneFact, ...]:
    seconds: dict[str | None, float] = {}
    drops: Counter[str | None] = Counter()
    changes = [mark for mark in observations.marks if mark.do in (Deed.FLEX, Deed.STILL, Deed.RESEAT)]
    for index, mark in enumerate(changes):
        if mark.do is Deed.RESEAT:
            continue
        end_us = changes[index + 1].at_us if index + 1 < len(changes) else observations.end_us
        zone = mark.zone if mark.do is Deed.FLEX else None
        seconds[zone] = seconds.get(zone, 0.0) + max(0, end_us - mark.at_us) / 1e6
        drops[zone] += sum(1 for drop in observations.dropouts if mark.at_us <= drop.start_us < end_us)
    order = sorted(seconds, key=lambda zone: (zone is not None, zone or ""))
    return tuple(ZoneFact(zone, seconds[zone], drops[zone]) for zone in order)


def summary(facts: ReportFacts) -> str:
    """The verdict in one sentence for an owner."""
    document = facts.document
    kinds = Counter(words.KIND.get(finding["kind"], finding["kind"]) for finding in document["findings"])
    return words.SUMMARY[document["verdict"]].format(
        keys=document["coverage"]["keys"],
        tried=document["coverage"]["tried"],
        untried=words.count_of(len(document["coverage"]["untried"]), "key"),
        count=words.count_of(len(document["findings"]), "fault"),
        kinds=", ".join(kind if number == 1 else f"{kind} ({number} times)" for kind, number in sorted(kinds.items())),
    )


def coverage_sentences(facts: ReportFacts) -> list[str]:
    """What was tested and what was not, told honestly."""
    coverage = facts.document["coverage"]
    said = [words.COVERAGE_KEYS.format(**coverage)]
    if coverage["untried"]:
        said.append(words.COVERAGE_UNTRIED.format(keys=", ".join(coverage["untried"])))
    else:
        said.append(words.COVERAGE_BOUND.format(percent=f"{coverage['miss_bound_95']:.0%}"))
    said.append(words.REST_DONE if facts.rest_done else words.REST_MISSING)
    flexed = False
    for zone in facts.zones:
        form = words.STILL if zone.zone is None else words.FLEXED
        said.append(form.format(zone=zone.zone, seconds=f"{zone.seconds:.0f}", drops=zone.drops))
        flexed = flexed or zone.zone is not None
    if not flexed:
        said.append(words.NOT_FLEXED)
    said.append(_resistance(facts))
    if facts.blind_s >= 0.001:
        said.append(words.BLIND.format(seconds=f"{facts.blind_s:.2f}"))
    if facts.watched_s >= 0.001:
        said.append(words.WATCHED.format(seconds=f"{facts.watched_s:.1f}"))
    said += [each.format(scan=facts.scan_us) for each in words.LIMITS if facts.scan_us or "{scan}" not in each]
    return said


def _resistance(facts: ReportFacts) -> str:
    measured = sorted((fact.loop_ohm, fact.id) for fact in facts.keys.values() if fact.loop_ohm is not None)
    if not measured:
        return words.NOT_MEASURED
    median, (highest, key) = measured[len(measured) // 2][0], measured[-1]
    return words.MEASURED.format(count=len(measured), median=f"{median:.0f} Ω", highest=f"{highest:.0f} Ω", key=key)


def place_sentences(finding: dict[str, Any]) -> list[str]:
    """Where, in words: the stretch, the distance, the zone; empty where nothing is known."""
    said = []
    place = finding.get("place")
    if place:
        form = words.PLACE_LINE
        if place["before"] is not None:
            form = words.PLACE_FIRST if place["after"] is None else words.PLACE_BETWEEN
        said.append(form.format(**place))
    if finding.get("distance_mm"):
        low, best, high = finding["distance_mm"]
        said.append(words.DISTANCE.format(low=low, best=best, high=high))
    if finding.get("zone"):
        said.append(words.ZONE.format(zone=finding["zone"]))
    return said
