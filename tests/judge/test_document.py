"""The document's order, its bytes and its schema."""

from __future__ import annotations

import json
from importlib.resources import files
from random import Random

import jsonschema
from hypothesis import given
from hypothesis import strategies as st

from tailwise.judge.document import build, to_bytes
from tailwise.model.fault import Fault, FaultKind, Place, Steadiness
from tailwise.model.finding import Finding, Rival
from tailwise.model.observation import LinkCounts
from tailwise.verdict.coverage import CoverageFacts
from tailwise.verdict.decide import Decision, Verdict
from tailwise.verdict.rubric import Grade

SCHEMA = json.loads(files("tailwise.judge").joinpath("schema.json").read_text(encoding="utf-8"))
NAMES = st.text(min_size=1, max_size=4)
SHARES = st.floats(0, 1)
FAULTS = st.builds(
    Fault,
    st.sampled_from(FaultKind),
    st.lists(NAMES, unique=True, max_size=3).map(tuple),
    st.lists(NAMES, unique=True, max_size=3).map(tuple),
    st.none() | st.builds(Place, NAMES, st.none() | NAMES, st.none() | NAMES),
    st.sampled_from(Steadiness),
)
FINDINGS = st.builds(
    Finding,
    FAULTS,
    SHARES,
    st.lists(NAMES, max_size=3).map(tuple),
    st.lists(st.builds(Rival, FAULTS, SHARES), max_size=3).map(tuple),
    NAMES,
    st.none() | NAMES,
    st.none() | st.tuples(*[st.floats(0, 900)] * 3),
)
COVERAGE = CoverageFacts(3, 2, ("B", "A"), 7, 3, 0.63159)


def document(findings: tuple[Finding, ...]) -> dict[str, object]:
    decision = Decision(Verdict.FAULTY, Grade("frail", 1, "because", "do that"), COVERAGE)
    return build("demo", "a label", decision, findings, LinkCounts(frames=9, lost=2, bad=1, gaps=1, repeated=4))


@given(st.lists(FINDINGS, max_size=4), st.randoms())
def test_every_document_fits_the_schema_and_does_not_depend_on_order(findings: list[Finding], random: Random) -> None:
    made = document(tuple(findings))
    jsonschema.validate(json.loads(to_bytes(made)), SCHEMA)
    shuffled = list(findings)
    random.shuffle(shuffled)
    keys = [(*finding.fault.sort_key, finding.fault.steadiness) for finding in findings]
    if len(set(keys)) == len(keys):
        assert to_bytes(document(tuple(shuffled))) == to_bytes(made)


def test_lists_sort_by_code_point_and_rivals_by_probability() -> None:
    rivals = tuple(
        Rival(Fault(FaultKind.DEAD_CONTACT, keys=(key,)), share) for key, share in (("b", 0.1), ("é", 0.25049), ("a", 0.1))
    )
    late = Finding(Fault(FaultKind.SHORT, ("b", "B")), 0.123456, ("z", "a"), rivals, "do", "tail", (1.04, 2.05, 3.0))
    early = Finding(Fault(FaultKind.OPEN_LINE, ("c",)), 1.0, ())
    made = json.loads(to_bytes(document((late, early))))
    assert [each["kind"] for each in made["findings"]] == ["open_line", "short"]
    short = made["findings"][1]
    assert (short["lines"], short["evidence"], short["probability"]) == (["B", "b"], ["a", "z"], 0.123)
    assert [(each["keys"], each["probability"]) for each in short["rivals"]] == [(["é"], 0.25), (["a"], 0.1), (["b"], 0.1)]
    assert (short["zone"], short["distance_mm"]) == ("tail", [1.0, 2.0, 3.0])
    assert "zone" not in made["findings"][0]
    assert made["coverage"] == {"keys": 3, "tried": 2, "untried": ["A", "B"], "presses": 7, "miss_bound_95": 0.6316}
    assert made["link"] == {"frames": 9, "lost": 2, "bad": 1, "gaps": 1}


def test_the_bytes_end_with_one_line_feed_and_keep_any_text() -> None:
    made = document(())
    made["label"] = "\ud800 \u2028 ☃"
    raw = to_bytes(made)
    assert raw.endswith(b"}\n")
    assert json.loads(raw)["label"] == "\ud800 \u2028 ☃"
