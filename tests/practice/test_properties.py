"""What holds for every membrane and every scenario file."""

from __future__ import annotations

import networkx
from hypothesis import given, settings
from hypothesis import strategies as st

from tailwise.harness.wiring import plain_wiring
from tailwise.layoutfile.library import find_layout
from tailwise.layoutfile.nodes import FileProblems
from tailwise.practice.bench import Bench
from tailwise.practice.catalogue import scenario_folder
from tailwise.practice.membrane import CONTACT_OHM, Membrane
from tailwise.practice.scanner import Scanner
from tailwise.practice.scenario_reader import parse_scenario
from tailwise.practice.seating import proper_seat, reversed_tail, shifted_tail, swapped_tails
from tailwise.practice.slots import Change, Contact

DEMO = find_layout("demo-7x6")
EIGHT = find_layout("demo-8x8")
SEAT = proper_seat(plain_wiring(DEMO).board_line)
TEXTS = [path.read_text(encoding="utf-8") for path in sorted(scenario_folder().glob("*.yaml"))]


@settings(deadline=None, max_examples=60)
@given(st.sets(st.sampled_from(sorted(DEMO.key_by_id)), max_size=9))
def test_sound_keys_read_as_the_transitive_closure_of_what_they_join(keys: set[str]) -> None:
    """The rectangle rule for any number of keys (Semtech UR5HCSPI encoder data sheet for the smallest case)."""
    membrane = Membrane(DEMO, SEAT)
    graph = networkx.Graph()
    for key in keys:
        membrane.apply(Change(0, Contact(key), CONTACT_OHM))
        graph.add_edge(DEMO.key_by_id[key].row, DEMO.key_by_id[key].column)
    number = {line: pin for pin, line in SEAT.items()}
    expected = {}
    for group in networkx.connected_components(graph):
        pins = [number[line] for line in group]
        for pin in pins:
            expected[pin] = sum(1 << other for other in pins if other != pin)
    assert membrane.readings() == expected


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.tuples(st.integers(1, 4000), st.integers(0, 3), st.integers(0, 15)), max_size=30),
    st.integers(0, 3000),
)
def test_the_scanner_reports_exactly_what_a_plain_loop_would(steps: list[tuple[int, int, int]], period_us: int) -> None:
    """The event-driven scanner against one that samples every line at every step."""
    changes = []
    at = 0
    for gap, driven, low in steps:
        at += gap
        changes.append((at, {driven: low & ~(1 << driven)}))
    scanner = Scanner(0, b"\3\3\3\3", period_us, 8000, {})
    seen = []
    for when, readings in changes:
        due = scanner.due_us
        while due is not None and due < when:
            seen += scanner.sample(due)
            due = scanner.due_us
        seen += scanner.change(when, readings)
    end = at + 2 * scanner.period_us
    seen += scanner.sample(end)
    plain = []
    rows = dict.fromkeys(range(4), 0)
    for scan in range(end // scanner.period_us + 1):
        for line in range(4):
            sampled = scan * scanner.period_us + (line + 1) * scanner.step_us
            if sampled > end:
                continue
            row = next((r.get(line, 0) for when, r in reversed(changes) if when < sampled), 0)
            for sensed in range(4):
                if (row ^ rows[line]) >> sensed & 1:
                    plain.append((sampled, line, sensed, bool(row >> sensed & 1)))
            rows[line] = row
    assert [(each.at_us, each.driven, each.sensed, each.closed) for each in seen] == plain


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(TEXTS), st.data())
def test_a_damaged_scenario_is_read_or_its_problems_are_named(text: str, data: st.DataObject) -> None:
    lines = text.split("\n")
    place = data.draw(st.integers(0, len(lines) - 1))
    column = data.draw(st.integers(0, len(lines[place])))
    junk = data.draw(st.sampled_from(["", "-", "[", "{", ":", " ", "null", "-1", "1e99", "'", "\t", "all", "R1", "true"]))
    cut = data.draw(st.integers(0, 6))
    lines[place] = lines[place][:column] + junk + lines[place][column + cut :]
    try:
        scenario = parse_scenario("\n".join(lines), str(scenario_folder() / "damaged.yaml"))
    except FileProblems as error:
        assert all(problem.line >= 1 and problem.key and problem.text for problem in error.problems)
    else:
        assert Bench(scenario.setup).performance.end_us > 0


@given(st.integers(-7, 7))
def test_seating_moves_lines_and_loses_only_those_that_fall_off(by: int) -> None:
    shifted = shifted_tail(DEMO, SEAT, "J1", by)
    assert len(set(shifted.values())) == len(shifted) == len(SEAT) - min(7, abs(by))
    assert reversed_tail(DEMO, reversed_tail(DEMO, SEAT, "J1"), "J1") == SEAT
    eight = proper_seat(plain_wiring(EIGHT).board_line)
    swapped = swapped_tails(EIGHT, eight, "J1", "J2")
    assert sorted(swapped.values()) == sorted(eight.values())
    assert all(swapped[pin] != eight[pin] for pin in eight)
