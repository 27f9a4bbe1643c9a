"""`prove` over boards that keep the rules, over bad lines, and over things that are no board."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from tailwise.conformance.report import FORMAT, Report
from tailwise.conformance.rule import Outcome, Result
from tailwise.conformance.run import RULES, NotProvable, prove
from tailwise.link.base import Link, LinkEnded, LinkLost
from tailwise.wire.frames import Frame, encode
from tailwise.wire.messages import Identity, SetLines, SetScan, Start
from tailwise.wire.payload import Opening
from tailwise.words import conformance as words
from tailwise.words import conformance_watch as watch_words
from tailwise.words.conformance_rules import RULES as CATALOGUE
from tests.conformance.bench import VirtualLink, busy_keyboard, pressed
from tests.conformance.minimal_board import MinimalBoard
from tests.conformance.watching_board import WatchingBoard


def broken(report: Report) -> list[tuple[str, str]]:
    return [(result.id, result.seen) for result in report.of(Outcome.FAIL)]


def untried(report: Report) -> list[str]:
    """What could not be tried, but for the rules of a watch, which a board without it need not keep."""
    away = report.of(Outcome.NOT_APPLICABLE)
    return [result.id for result in away if result.seen != watch_words.NO_WATCH]


def test_the_minimal_board_of_the_prose_keeps_every_rule() -> None:
    report = prove(VirtualLink(MinimalBoard(busy_keyboard)))
    assert broken(report) == []
    assert untried(report) == ["held_line"]
    assert report.passed and report.exit_code == 0


def test_a_board_that_watches_keeps_every_rule() -> None:
    report = prove(VirtualLink(WatchingBoard(busy_keyboard)))
    assert broken(report) == []
    assert [result.id for result in report.of(Outcome.NOT_APPLICABLE)] == ["held_line"]
    seen = {result.id: result.seen for result in report.results}
    assert int(seen["openings_counted"].split()[0]) > 100


def test_a_board_that_cannot_watch_need_not() -> None:
    report = prove(VirtualLink(MinimalBoard(busy_keyboard)))
    away = [result for result in report.of(Outcome.NOT_APPLICABLE) if result.seen == watch_words.NO_WATCH]
    assert {result.id for result in away} == {rule for rule, says in CATALOGUE.items() if "watch" in rule or "openings" in rule}


def test_a_board_that_can_sense_a_single_line_has_no_second_pair() -> None:
    class OneLine(WatchingBoard):
        watchable = 1

    report = prove(VirtualLink(OneLine(busy_keyboard)))
    assert broken(report) == []
    assert "watch_set" in untried(report)


def test_openings_that_nobody_makes_leave_their_rules_untried() -> None:
    report = prove(VirtualLink(WatchingBoard(lambda at_us: frozenset())))
    assert broken(report) == []
    assert {"openings_fit", "openings_counted", "openings_delay"} <= set(untried(report))


def test_openings_that_no_message_carries_are_kept_as_a_count() -> None:
    class Slow(WatchingBoard):
        told = 0

        def end_opening(self, one: Opening) -> None:
            self.told += 1
            if self.told % 3:
                super().end_opening(one)
            else:
                self.unlisted += 1

    assert broken(prove(VirtualLink(Slow(busy_keyboard)))) == []


@pytest.mark.parametrize("before_the_wrap_us", [3_000_000, 20_000_000])
def test_a_clock_that_wraps_while_it_is_proved(before_the_wrap_us: int) -> None:
    board = MinimalBoard(busy_keyboard, clock_start=(1 << 32) - before_the_wrap_us)
    assert broken(prove(VirtualLink(board))) == []
    assert board.now > before_the_wrap_us


def test_numbers_that_wrap_while_it_is_proved() -> None:
    class Old(MinimalBoard):
        def booted(self) -> None:
            super().booted()
            self.number = 65_000

    report = prove(VirtualLink(Old(busy_keyboard)))
    assert broken(report) == []


def test_a_board_with_a_held_line_shows_that_it_refuses_the_drive() -> None:
    class Powered(MinimalBoard):
        held = (1, 3)

    report = prove(VirtualLink(Powered(lambda at_us: frozenset())))
    assert broken(report) == []
    results = {result.id: result for result in report.results}
    assert results["held_line"].outcome == Outcome.PASS
    assert "detail 1" in results["held_line"].seen
    assert results["long_run"].outcome == Outcome.NOT_APPLICABLE


def test_a_board_that_was_left_scanning_and_never_restarts() -> None:
    board = MinimalBoard(busy_keyboard)
    for message in (SetLines(b"\x03" * 6), SetScan(0, 0), Start(0)):
        board.run()
        board.receive(encode(message, 7))
    board.out.clear()
    report = prove(VirtualLink(board))
    assert broken(report) == []
    assert {"start_unconfigured", "booted_first"} <= set(untried(report))


def test_a_board_without_line_check() -> None:
    class Plain(MinimalBoard):
        checked = 0

        def identity(self, command: int) -> Identity:
            return replace(super().identity(command), capabilities=0)

        def line_check(self) -> None:
            """It has none."""

    report = prove(VirtualLink(Plain(busy_keyboard)))
    assert broken(report) == []
    assert "line_check_form" in untried(report)


def test_a_board_that_boots_slowly_and_babbles_before() -> None:
    class Booting(MinimalBoard):
        boot_us = 1_700_000

        def booted(self) -> None:
            self.out += bytes(range(255, 0, -1)) + b"\0"
            super().booted()

    assert broken(prove(VirtualLink(Booting(busy_keyboard)))) == []


def test_many_keys_at_once() -> None:
    everything = pressed(*((drive, sense) for drive in range(6) for sense in range(drive)))
    report = prove(VirtualLink(MinimalBoard(lambda at_us: everything if at_us // 11_000 % 2 else frozenset())))
    assert broken(report) == []


class LossyLink(VirtualLink):
    """One bit in some thousand is turned over on the way to the host."""

    def read(self, timeout_s: float) -> bytes:
        data = bytearray(super().read(timeout_s))
        for at in range(len(data)):
            if (self.board.now + at * 7919) % 4001 == 0:
                data[at] ^= 0x10
        return bytes(data)


def test_a_bad_line_is_told_from_a_bad_board() -> None:
    report = prove(LossyLink(MinimalBoard(busy_keyboard)))
    failed = {result.id for result in report.of(Outcome.FAIL)}
    assert "frames_good" in failed and "numbers_without_holes" in failed
    assert not failed & {"state_agrees", "transitions_change", "clock_never_back", "unread_bits", "state_size"}


def test_every_rule_is_told_once_as_it_comes_and_stands_in_the_report() -> None:
    told: list[Result] = []
    report = prove(VirtualLink(MinimalBoard(busy_keyboard)), told.append)
    assert tuple(told) == report.results
    assert [result.id for result in report.results] == [rule.id for rule in RULES]


def test_the_catalogue_names_exactly_the_rules() -> None:
    assert set(CATALOGUE) == {rule.id for rule in RULES}
    assert len({rule.id for rule in RULES}) == len(RULES)
    assert all(says.title and says.expected and 1 <= says.section <= 19 for says in CATALOGUE.values())


def test_the_report_as_json_and_for_people() -> None:
    class Nameless(MinimalBoard):
        silence_us = 1 << 60

    report = prove(VirtualLink(Nameless(busy_keyboard)))
    document = json.loads(json.dumps(report.to_json()))
    assert document["format"] == FORMAT
    assert document["passed"] is False
    assert [rule["id"] for rule in document["rules"]] == [rule.id for rule in RULES]
    lines = report.lines()
    assert any(line.startswith("fail") and "host_silence" in line for line in lines)
    assert any("see PROTOCOL.md, section 10" in line for line in lines)
    assert lines[-1] == words.summary(
        *(len(report.of(outcome)) for outcome in (Outcome.PASS, Outcome.FAIL, Outcome.NOT_APPLICABLE))
    )


class Nobody(Link):
    """A port on which nothing answers, or that goes away."""

    url = "nobody:"

    def __init__(self, says: bytes = b"", lost: bool = False, ended: bool = False, replays: bool = False) -> None:
        self.now, self.says, self.lost, self.ended, self.replays = 0, says, lost, ended, replays

    def now_us(self) -> int:
        return self.now

    def write(self, data: bytes) -> None:
        """Nobody listens."""

    def read(self, timeout_s: float) -> bytes:
        if self.lost:
            raise LinkLost("unplugged")
        if self.ended:
            raise LinkEnded
        self.now += round(timeout_s * 1e6)
        return self.says

    def close(self) -> None:
        """Nothing to close."""


@pytest.mark.parametrize(
    ("link", "text"),
    [
        (Nobody(), "no IDENTITY from nobody: in 5 s, nothing came"),
        (Nobody(b"\x11\x22\x00"), "bad frames came"),
        (Nobody(lost=True), "unplugged"),
        (Nobody(ended=True), "no IDENTITY"),
        (Nobody(replays=True), "a recording cannot be proved"),
    ],
)
def test_what_is_no_board_cannot_be_proved_and_the_next_step_is_named(link: Nobody, text: str) -> None:
    with pytest.raises(NotProvable, match="Next step: ") as caught:
        prove(link)
    assert text in str(caught.value)


class EndingLink(VirtualLink):
    """A scenario that is over after three seconds."""

    def read(self, timeout_s: float) -> bytes:
        if self.board.now > 3_000_000:
            raise LinkEnded
        return super().read(timeout_s)


def test_a_scenario_that_ends_leaves_the_rest_untried() -> None:
    report = prove(EndingLink(MinimalBoard(busy_keyboard)))
    assert broken(report) == []
    assert report.ended
    assert "host_silence" in untried(report)
    assert len(report.results) == len(RULES)


class PulledLink(VirtualLink):
    """A cable that is pulled after three seconds."""

    def read(self, timeout_s: float) -> bytes:
        if self.board.now > 3_000_000:
            raise LinkLost("unplugged")
        return super().read(timeout_s)


def test_a_pulled_cable_ends_the_proof() -> None:
    with pytest.raises(NotProvable, match="unplugged"):
        prove(PulledLink(MinimalBoard(busy_keyboard)))


def test_a_board_that_hangs_fails_all_that_follows() -> None:
    class Hangs(MinimalBoard):
        hung = False

        def unknown(self, frame: Frame) -> None:
            self.hung = True

        def handle(self, frame: Frame) -> None:
            if not self.hung:
                super().handle(frame)

    report = prove(VirtualLink(Hangs(busy_keyboard)))
    failed = [result.id for result in report.of(Outcome.FAIL)]
    assert failed[0] == "unknown_message"
    assert {"bad_crc", "long_run", "host_silence"} <= set(failed)


def test_a_line_check_that_lies_about_a_held_line() -> None:
    class Liar(MinimalBoard):
        held = (1,)

        def status(self, line: int) -> int:
            return min(super().status(line), 1) if line < self.checked else super().status(line)

    assert [rule for rule, _ in broken(prove(VirtualLink(Liar(busy_keyboard))))] == ["held_line"]


@pytest.mark.parametrize(("line_count", "longest"), [(2, 64), (9, 80), (17, 254)])
def test_boards_of_other_sizes(line_count: int, longest: int) -> None:
    class Sized(MinimalBoard):
        lines = line_count
        checked = 0
        max_command_bytes = longest
        settle_default_ns = 100_000
        settle_max_ns = 400_000

        def identity(self, command: int) -> Identity:
            return replace(super().identity(command), capabilities=0, checked_lines=b"")

        def line_check(self) -> None:
            """It has none."""

    last = line_count - 1
    report = prove(VirtualLink(Sized(lambda at_us: pressed((0, last)) if at_us % 9_000 < 5_000 else frozenset())))
    assert broken(report) == []
