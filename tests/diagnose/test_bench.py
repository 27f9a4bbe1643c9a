"""The benchmark's machinery, a run or two of it: the truth side, the marks, and that a rule switched off shows."""

from __future__ import annotations

from tailwise.diagnose.hypotheses import Rule
from tailwise.layoutfile.library import find_layout
from tailwise.model.fault import Fault, FaultKind
from tests.bench.diagnosis import CARRIES, bench
from tests.bench.diagnosis_guided import compare_orders, inference_ms
from tests.bench.diagnosis_truth import break_fault, crack_fault, line_fault, same_to_every_press, silenced

LAYOUT = find_layout("demo-7x6")
EVERY_KEY = frozenset(key.id for key in LAYOUT.keys)


def test_truth_walks_the_routes() -> None:
    assert silenced(LAYOUT, [break_fault(LAYOUT, "R4", "W")]) == {"W", "Q", "CTRL", "A"}
    assert silenced(LAYOUT, [break_fault(LAYOUT, "C2", "B")]) == {"B", "L", "DEL"}
    assert silenced(LAYOUT, [line_fault(LAYOUT, "C3")]) == set(LAYOUT.keys_on["C3"])


def test_classes_of_what_no_press_tells_apart() -> None:
    dead = Fault(FaultKind.DEAD_CONTACT, (), ("W",))
    assert same_to_every_press(LAYOUT, dead, EVERY_KEY) == {dead}
    last = Fault(FaultKind.DEAD_CONTACT, (), ("A",))
    assert same_to_every_press(LAYOUT, last, EVERY_KEY) == {last, break_fault(LAYOUT, "R4", "A")}
    line = line_fault(LAYOUT, "R2")
    assert {each.kind for each in same_to_every_press(LAYOUT, line, EVERY_KEY)} == {
        FaultKind.OPEN_LINE,
        FaultKind.HARNESS_FAULT,
    }
    crack = crack_fault(LAYOUT, ("R1", "R2"))
    assert same_to_every_press(LAYOUT, crack, EVERY_KEY) == {crack}


def test_one_run_of_some_classes_holds() -> None:
    outcome = bench(1, 5, names=("open_line", "broken_trace", "short", "sound"))
    assert [bar.name for bar in outcome.bars if not bar.holds] == []


def test_a_rule_switched_off_fails_its_class() -> None:
    outcome = bench(1, 5, frozenset({Rule.OPEN_LINES}), ("open_line",))
    assert [bar.name for bar in outcome.bars if not bar.holds]
    assert set(CARRIES) == set(Rule)


def test_guided_order_needs_fewer_presses() -> None:
    guided, fixed = compare_orders(4, 3, ("demo-7x6",))
    assert 0 < guided < fixed


def test_big_layout_is_inferred() -> None:
    assert inference_ms() > 0
