"""Whatever a run showed, however odd: findings come out, with the promises every finding keeps."""

from __future__ import annotations

import random

from hypothesis import given, settings
from hypothesis import strategies as st

from tailwise.diagnose.engine import diagnose
from tailwise.diagnose.guide import next_presses
from tailwise.layoutfile.library import find_layout, shipped_ids
from tailwise.model.layout import Layout
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import (
    Attempt,
    AttemptResult,
    Blind,
    Dropout,
    Joined,
    LineHeld,
    Observations,
    Pair,
    Press,
)

LAYOUTS = [find_layout(name) for name in shipped_ids()]
END_US = 20_000_000


def _odd_run(layout: Layout, chance: random.Random, size: int) -> Observations:
    keys = [key.id for key in layout.keys]

    def at() -> int:
        return chance.randrange(END_US)

    def pair() -> Pair:
        one, other = chance.sample(layout.lines, 2)
        return one, other

    def few() -> tuple[str, ...]:
        return tuple(sorted(set(chance.choices(keys, k=chance.randint(0, 3)))))

    presses = []
    for _ in range(chance.randrange(size * 3)):
        start = at()
        end = chance.choice((None, start, start + chance.randrange(1, 3_000_000)))
        one_way = chance.choice((None, None, pair()))
        presses.append(Press(chance.choice(keys), start, end, chance.random() < 0.8, chance.randrange(60_000), 0, 1, one_way))
    attempts = []
    for _ in range(chance.randrange(size * 2)):
        start = at()
        result = chance.choice(list(AttemptResult))
        landed = (pair(),) if result is AttemptResult.ELSEWHERE else ()
        attempts.append(Attempt(chance.choice(keys), start, start + 400_000, result, landed))
    dropouts = []
    for _ in range(chance.randrange(size)):
        start = at()
        dropouts.append(Dropout(start, start + chance.randrange(1, 200_000), few(), few(), chance.random() < 0.2))
    joined = []
    for _ in range(chance.randrange(5)):
        start = at()
        steady = chance.random() < 0.5
        joined.append(Joined(pair(), start, start + chance.randrange(2_000_000), steady, chance.random() < 0.2))
    zones = [zone.name for zone in layout.zones] or [""]
    marks = tuple(Mark(at(), chance.choice([Deed.FLEX, Deed.STILL, Deed.RESEAT]), zone=chance.choice(zones)) for _ in range(3))
    return Observations(
        layout,
        tuple(sorted(presses, key=lambda press: press.start_us)),
        tuple(dropouts),
        tuple(attempts),
        tuple(joined),
        (Blind(3_000_000, 3_000_000 + chance.randrange(90_000), "lost frames"),) if chance.random() < 0.3 else (),
        tuple(sorted(marks, key=lambda mark: mark.at_us)),
        {pair(): chance.randrange(4) for _ in range(8)},
        tuple(pair() for _ in range(chance.randrange(3))),
        {chance.choice(layout.lines): LineHeld.HIGH} if chance.random() < 0.1 else {},
        every_key_pressed=chance.random() < 0.5,
        started=True,
        rest_done=True,
        end_us=END_US,
    )


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 2**32), st.integers(1, 25))
def test_odd_runs_give_findings_that_keep_their_promises(seed: int, size: int) -> None:
    chance = random.Random(seed)
    layout = chance.choice(LAYOUTS)
    run = _odd_run(layout, chance, size)
    findings = diagnose(run)
    assert findings == diagnose(run)
    assert list(findings) == sorted(findings, key=lambda each: each.fault.sort_key)
    lines, keys = set(layout.lines), set(layout.key_by_id)
    for finding in findings:
        assert 0 <= finding.probability <= 1
        assert finding.probability + sum(rival.probability for rival in finding.rivals) <= 1 + 1e-9
        assert finding.evidence and finding.next_step
        for fault in (finding.fault, *(rival.fault for rival in finding.rivals)):
            assert set(fault.lines) <= lines
            assert set(fault.keys) <= keys
            assert list(fault.lines) == sorted(fault.lines)
            assert list(fault.keys) == sorted(fault.keys)
    if not run.held:
        next_presses(run)
