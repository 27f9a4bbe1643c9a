"""Judges recordings, whole or while they grow: the live verdict is the judgement of the recording so far."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from tailwise.diagnose.engine import diagnose
from tailwise.diagnose.priors import DEFAULT_PRIORS, Priors
from tailwise.harness.wiring import Wiring, WiringError, checked_wiring, plain_wiring
from tailwise.judge.document import build
from tailwise.layoutfile.library import find_layout, shipped_ids
from tailwise.layoutfile.nodes import FileProblems
from tailwise.layoutfile.reader import parse_layout
from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Observations
from tailwise.observe.observer import Observer
from tailwise.observe.snapshot import Snapshot
from tailwise.recording.format import Changed, Header, Marked, Record, Recording, RecordingError
from tailwise.verdict.decide import decide
from tailwise.verdict.doubts import doubts_of
from tailwise.verdict.rubric import Rubric
from tailwise.words import judge as words

_UNNAMED = "recording"


class Judge:
    """Feed it the records of one run in order; ask for the document at any time, which changes nothing."""

    def __init__(
        self, header: Header, *, rubric: Rubric | None = None, file: str = _UNNAMED, priors: Priors = DEFAULT_PRIORS
    ) -> None:
        """RecordingError where the header's layout or wiring cannot be used; `file` is what errors call the recording.

        priors: how common each fault is, where a shop knows better than the shipped table.
        """
        self.layout = header_layout(header, file)
        self.label = header.label
        self._rubric = rubric
        self._priors = priors
        self._observer = Observer(self.layout, _wiring(header, self.layout, file), every_key_pressed=header.every_key_pressed)
        self._notes: list[str] = []
        self._doubts: tuple[str, ...] = ()
        self._grade = ""

    def feed(self, record: Record) -> None:
        """Take one record."""
        if isinstance(record, Changed) and record.label is not None:
            self.label = record.label
        if isinstance(record, Marked):
            record = replace(record, mark=self._checked(record.mark))
        self._observer.feed(record)

    def _checked(self, mark: Mark) -> Mark:
        """A mark as it is, or as a note where its key is not in the layout: it still ends the mark before it."""
        if mark.key is None or mark.key in self.layout.key_by_id:
            return mark
        note = words.unknown_key(mark.key)
        if note not in self._notes:
            self._notes.append(note)
        return Mark(mark.at_us, Deed.NOTE, text=note)

    @property
    def notes(self) -> tuple[str, ...]:
        """What a person should know about the recording itself and about an unproven verdict; never part of the findings."""
        silent = () if self._observer.scanned or self._observer.refused else (words.NEVER_SCANNED,)
        return (*self._notes, *self._observer.odd_states, *silent, *self._doubts)

    @property
    def grade_reason(self) -> str:
        """Which rule gave the grade of the newest document, why, and what would raise it; empty before the first."""
        return self._grade

    def snapshot(self) -> Snapshot:
        """The live picture."""
        return self._observer.snapshot()

    def observations(self) -> Observations:
        """What the run has shown so far."""
        return self._observer.observations()

    def document(self) -> dict[str, Any]:
        """The findings document of the recording so far."""
        return self.conclude(self.observations())

    def conclude(self, observations: Observations) -> dict[str, Any]:
        """The findings document of what the run had shown at some moment; more records may be fed meanwhile."""
        findings = diagnose(observations, self._priors)
        decision = decide(observations, findings, self._rubric)
        grade = decision.grade
        self._grade = words.grade(grade.name, grade.rule, grade.because, grade.to_raise)
        doubts = () if findings else doubts_of(observations)
        self._doubts = tuple(words.doubt(each.kind.value, each.names, each.count, each.of) for each in doubts)
        return build(self.layout.id, self.label, decision, findings, observations.link)


def judge_recording(recording: Recording, *, rubric: Rubric | None = None, file: str = _UNNAMED) -> dict[str, Any]:
    """The findings document of a recording."""
    return fed_judge(recording, rubric=rubric, file=file).document()


def fed_judge(
    recording: Recording, *, rubric: Rubric | None = None, file: str = _UNNAMED, priors: Priors = DEFAULT_PRIORS
) -> Judge:
    """A judge that has seen the whole recording: for its notes and observations too."""
    judge = Judge(recording.header, rubric=rubric, file=file, priors=priors)
    for record in recording.records:
        judge.feed(record)
    return judge


def header_layout(header: Header, file: str = _UNNAMED) -> Layout:
    """The layout a header carries, or the shipped one of its id; RecordingError where there is none that can be used."""
    try:
        if header.layout_text:
            return parse_layout(header.layout_text, f"{file}:1 layout_text", thorough=False)
        if header.layout not in shipped_ids():
            raise RecordingError(file, 1, words.layout_unknown(header.layout))
        return find_layout(header.layout)
    except FileProblems as error:
        raise RecordingError(file, 1, words.layout_refused(str(error))) from error


def _wiring(header: Header, layout: Layout, file: str) -> Wiring:
    if header.wiring is None:
        return plain_wiring(layout)
    try:
        return checked_wiring(layout, header.wiring)
    except WiringError as error:
        raise RecordingError(file, 1, words.wiring_refused(str(error))) from error
