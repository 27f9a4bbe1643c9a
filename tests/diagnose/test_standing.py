"""Tails put in wrongly, and keyboards that are another layout's."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

from tailwise.diagnose.engine import diagnose
from tailwise.model.fault import FaultKind
from tailwise.model.layout import Layout
from tailwise.model.observation import Attempt, AttemptResult, Observations, Pair, Press
from tests.diagnose.worlds import HELD_US, STEP_US, brief, demo

Move = Callable[[str], str | None]


def _walk(layout: Layout, move: Move, dead: frozenset[str] = frozenset(), named: int = 1000) -> Observations:
    """Every key pressed and named while each line stands where `move` says."""
    presses, attempts, elsewhere = [], [], []
    at = 2_500_000
    for key in layout.keys[:named]:
        row, column = move(key.row or ""), move(key.column or "")
        for _ in range(3 if key.id in dead else 1):
            result = AttemptResult.SILENT
            landed: tuple[Pair, ...] = ()
            if row is not None and column is not None and key.id not in dead:
                pair = (row, column)
                names = layout.keys_at.get(frozenset(pair), ())
                presses += [Press(name, at, at + HELD_US, frame=at // 9000) for name in names]
                if key.id in names:
                    result = AttemptResult.SEEN
                else:
                    result, landed = AttemptResult.ELSEWHERE, (pair,)
                if not names:
                    elsewhere.append(pair)
            attempts.append(Attempt(key.id, at, at + STEP_US, result, landed))
            at += STEP_US
    closures = {("R1", "C1"): 1}
    return Observations(
        layout, tuple(presses), attempts=tuple(attempts), closures=closures, elsewhere=tuple(elsewhere), started=True,
        rest_done=True, end_us=at,
    )  # fmt: skip


def _reversed(line: str) -> str:
    return f"R{8 - int(line[1])}" if line.startswith("R") else line


def test_reversed_tail_leaves_out_the_middle() -> None:
    (finding,) = diagnose(_walk(demo().layout, _reversed))
    assert brief((finding,)) == [("tail_misplaced", ("R1", "R2", "R3", "R5", "R6", "R7"), ())]
    assert finding.probability > 0.9


def test_reversed_tail_in_a_few_presses() -> None:
    (finding,) = diagnose(_walk(demo().layout, _reversed, named=6))
    assert finding.fault.kind is FaultKind.TAIL_MISPLACED


def test_shifted_tail() -> None:
    def shifted(line: str) -> str | None:
        return (f"C{int(line[1]) + 1}" if line != "C6" else None) if line.startswith("C") else line

    found = brief(diagnose(_walk(demo().layout, shifted)))
    assert found == [("tail_misplaced", ("C1", "C2", "C3", "C4", "C5", "C6"), ())]


def test_swapped_tails() -> None:
    def swapped(line: str) -> str | None:
        return {"R": "C", "C": "R"}[line[0]] + line[1] if line != "R7" else None

    found = brief(diagnose(_walk(demo().layout, swapped)))
    assert [each[0] for each in found] == ["tail_misplaced"]
    assert len(found[0][1]) == 13


def test_reversed_tail_and_a_dead_key_are_both_found() -> None:
    found = brief(diagnose(_walk(demo().layout, _reversed, dead=frozenset({"G"}))))
    assert [each[0] for each in found] == ["dead_contact", "tail_misplaced"]
    assert found[0][2] == ("G",)


def test_another_keyboard_is_a_wrong_layout() -> None:
    layout = demo().layout
    keys = list(layout.keys)
    points = [(key.row, key.column) for key in keys]
    random.Random(3).shuffle(points)
    other = replace(layout, keys=tuple(replace(key, row=at[0], column=at[1]) for key, at in zip(keys, points, strict=True)))
    run = _walk(other, lambda line: line)
    attempts = []
    for attempt in run.attempts:
        pressed = other.key_by_id[attempt.key]
        own = layout.key_by_id[attempt.key]
        if (pressed.row, pressed.column) == (own.row, own.column):
            attempts.append(attempt)
        else:
            attempts.append(
                replace(attempt, result=AttemptResult.ELSEWHERE, landed=((pressed.row or "", pressed.column or ""),))
            )
    read_as = [
        layout.keys_at[frozenset((other.key_by_id[press.key].row or "", other.key_by_id[press.key].column or ""))][0]
        for press in run.presses
    ]
    presses = tuple(replace(press, key=name) for press, name in zip(run.presses, read_as, strict=True))
    (finding,) = diagnose(replace(run, layout=layout, attempts=tuple(attempts), presses=presses))
    assert finding.fault.kind is FaultKind.WRONG_LAYOUT


def test_one_wrong_key_is_a_slip() -> None:
    run = _walk(demo().layout, lambda line: line)
    first = replace(run.attempts[0], result=AttemptResult.ELSEWHERE, landed=(("R1", "C2"),))
    assert diagnose(replace(run, attempts=(first, *run.attempts[1:]))) == ()


def test_without_names_a_full_matrix_says_nothing() -> None:
    assert diagnose(replace(_walk(demo().layout, _reversed), attempts=())) == ()


def test_closures_without_a_key_and_without_names_are_a_wrong_layout() -> None:
    run = _walk(demo("demo-10x8").layout, lambda line: line)
    strange = replace(run, attempts=(), elsewhere=(("X9", "Y2"), ("X9", "Y7")))
    (finding,) = diagnose(strange)
    assert finding.fault.kind is FaultKind.WRONG_LAYOUT


def test_a_keyboard_of_which_most_keys_are_silent_is_no_misplaced_tail() -> None:
    """One press in five lands, each time where no way of putting the tails in would bring it."""
    layout = demo().layout
    chance = random.Random(5)
    run = _walk(layout, lambda line: line, frozenset(key.id for key in layout.keys))
    attempts = [
        replace(each, result=AttemptResult.ELSEWHERE, landed=((chance.choice(layout.rows), chance.choice(layout.columns)),))
        if number % 15 == 0
        else each
        for number, each in enumerate(run.attempts)
    ]
    found = diagnose(replace(run, attempts=tuple(attempts)))
    assert FaultKind.TAIL_MISPLACED not in {each.fault.kind for each in found}
    assert FaultKind.WRONG_LAYOUT in {each.fault.kind for each in found}
