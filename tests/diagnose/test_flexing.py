"""What flexing adds to a finding: zone, rate, lengths of the openings, and the bound of quiet zones."""

from __future__ import annotations

from tailwise.diagnose.engine import diagnose
from tailwise.layoutfile.library import find_layout
from tailwise.model.fault import FaultKind
from tailwise.model.finding import Finding
from tailwise.model.mark import Deed, Mark
from tailwise.model.observation import Attempt, AttemptResult, Observations, Press
from tests.observe.watchboard import MS, SECOND, WatchBoard

DEMO = find_layout("demo-7x6")
PAIRS = (("R6", "C4"), ("R2", "C4"))
"""Keys K and 9."""
START = 3 * SECOND
FLEX = START + 45 * SECOND
NEXT = FLEX + 10 * SECOND
END = NEXT + 12 * SECOND
MARKS = (
    Mark(START, Deed.STILL),
    Mark(FLEX, Deed.FLEX, zone="fold"),
    Mark(NEXT, Deed.FLEX, zone="neck"),
)
BURST = tuple(
    (FLEX + SECOND + at * 2 * SECOND + each * 5 * MS, FLEX + SECOND + at * 2 * SECOND + each * 5 * MS + 25 * (each + 1) ** 2)
    for at in range(4)
    for each in range(6)
)


def found(first: tuple[tuple[int, int], ...], second: tuple[tuple[int, int], ...], **more: object) -> tuple[Finding, ...]:
    board = WatchBoard(DEMO, PAIRS, (first, second), START, END, marks=MARKS, **more)  # type: ignore[arg-type]
    return diagnose(board.observations())


def test_both_keys_at_once_accuse_the_line_and_the_finding_says_where_how_often_how_long() -> None:
    (finding,) = found(BURST, BURST)
    assert (finding.fault.kind, finding.fault.lines, finding.zone) == (FaultKind.INTERMITTENT_LINE, ("C4",), "fold")
    said = "\n".join(finding.evidence)
    assert "24 openings in all, the shortest 25 us, the longest 900 us" in said
    assert "fold: 4 episodes in 10.0 s of flexing" in said and "a second (95 %: 0.11 to 1" in said
    assert "left alone: 0 in 45.0 s" in said
    assert "neck: nothing in 12.0 s of flexing, so at most 0.25 a second (95 %)" in said


def test_a_finger_that_wobbles_now_and_then_accuses_nobody() -> None:
    wobble = tuple((START + at * 13 * SECOND, START + at * 13 * SECOND + 3 * MS) for at in range(1, 5))
    slid = ((START + 30 * SECOND, START + 30 * SECOND + 200 * MS),)
    assert found(tuple(sorted(wobble + slid)), ()) == ()


def test_openings_that_were_only_counted_are_said_and_prove_nothing_by_themselves() -> None:
    dropped = {(pair, start) for pair in (0, 1) for start, _ in BURST[1::2]}
    (finding,) = found(BURST, BURST, unlisted=dropped)
    assert any(sentence.startswith("24 more openings were counted") for sentence in finding.evidence)
    everything = {(pair, start) for pair in (0, 1) for start, _ in BURST}
    assert found(BURST, BURST, unlisted=everything) == ()


def typed(*outages: tuple[str, int, int]) -> tuple[Finding, ...]:
    """Every key of C4 asked for again and again in each zone; outages: zone, from and to which of its presses stays silent."""
    marks, presses, attempts = [Mark(3 * SECOND, Deed.STILL)], [], []
    at = 3 * SECOND
    for zone in ("", *(each.name for each in DEMO.zones)):
        if zone:
            marks.append(Mark(at, Deed.FLEX, zone=zone))
        for number in range(28):
            key = DEMO.keys_on["C4"][number % 7]
            silent = any(zone == where and first <= number < last for where, first, last in outages)
            if not silent:
                presses.append(Press(key, at + 50 * MS, at + 160 * MS))
            attempts.append(Attempt(key, at, at + 300 * MS, AttemptResult.SILENT if silent else AttemptResult.SEEN))
            at += 300 * MS
    run = Observations(
        DEMO, presses=tuple(presses), attempts=tuple(attempts), marks=tuple(marks), started=True, rest_done=True, end_us=at
    )
    return diagnose(run)


def test_presses_that_stay_silent_in_one_zone_only_name_it() -> None:
    (finding,) = typed(*(("fold", first, first + 3) for first in (1, 6, 11, 16, 21)))
    assert (finding.fault.lines, finding.zone) == (("C4",), "fold")


def test_presses_that_one_outage_swallowed_in_a_row_name_no_zone() -> None:
    (finding,) = typed(("fold", 2, 14))
    assert (finding.fault.lines, finding.zone) == (("C4",), None)
