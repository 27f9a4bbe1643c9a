"""What every board does, whatever it is made of; all times are the link's or the board's own."""

from __future__ import annotations

from itertools import pairwise

from tailwise.harness.wiring import plain_wiring
from tailwise.link.base import Link
from tailwise.wire.messages import (
    Ack,
    Booted,
    Heartbeat,
    LineCheck,
    LineStatus,
    Message,
    Refusal,
    Refused,
    RunState,
    SetLines,
    Start,
    State,
    Stop,
    Transitions,
)
from tests.contract.conftest import KEYS, Conduct
from tests.contract.host import Host
from tests.live.helpers import LAYOUT

WIRING = plain_wiring(LAYOUT)
ROLES = WIRING.roles()


def test_handshake(conduct: Conduct) -> None:
    def body(link: Link) -> None:
        host = Host(link)
        identity = host.hello()
        assert identity.protocol_min <= 1 <= identity.protocol_max
        assert 24 <= identity.line_count <= 40 and identity.clock_tick_ns == 1000
        assert identity.max_command_bytes >= 64 and identity.board
        booted = host.frames[0].message()
        assert isinstance(booted, Booted) and host.frames[0].number == 0

    conduct(body)


def test_frames_are_numbered_without_a_gap(conduct: Conduct) -> None:
    def body(link: Link) -> None:
        host = Host(link)
        host.hello()
        host.start(ROLES)
        host.listen(1.0)
        assert all(later.number == earlier.number + 1 for earlier, later in pairwise(host.frames))

    conduct(body)


def test_start_checks_the_lines_first_and_state_follows(conduct: Conduct) -> None:
    def body(link: Link) -> None:
        host = Host(link)
        host.hello()
        ack = host.start(ROLES)
        check = [message for frame in host.frames if isinstance(message := frame.message(), LineCheck)]
        assert len(check) == 1
        assert {check[0].statuses[number] for number in WIRING.board_line.values()} <= {
            LineStatus.CLEAR,
            LineStatus.NOT_CHECKED,
        }
        states = [message for message in host.listen(1.0) if isinstance(message, State)]
        clocks = [state.clock for state in states]
        assert 0 <= clocks[0] - ack.clock <= 50_000
        assert all(0 < later - earlier <= 50_000 for earlier, later in pairwise(clocks))
        assert clocks[-1] - clocks[0] > 900_000
        assert not any(any(state.closed) for state in states)

    conduct(body)


def test_a_press_becomes_transitions_and_the_state_agrees(conduct: Conduct) -> None:
    row, column = (WIRING.board_line[line] for line in LAYOUT.key_by_id[KEYS[0]].crosspoints[0])

    def body(link: Link) -> None:
        host = Host(link)
        host.hello()
        zero = host.start(ROLES).clock
        matrix: set[tuple[int, int]] = set()
        seen: set[tuple[int, int]] = set()
        for _ in range(7):
            host.send(6, b"")
            for message in host.listen(0.5):
                if isinstance(message, Transitions):
                    for entry in message.entries:
                        pair = (entry.driven, entry.sensed)
                        (matrix.add if entry.closed else matrix.discard)(pair)
                        seen.add(pair)
                        assert message.clock + entry.delta - zero > 2_000_000
                elif isinstance(message, State):
                    assert _closed(message) == matrix
        assert {(row, column), (column, row)} <= seen
        assert len(seen) == 2 * len(KEYS) and not matrix

    conduct(body)


def _closed(state: State) -> set[tuple[int, int]]:
    width = len(state.closed) // len(WIRING.board_line)
    rows = [state.closed[at : at + width] for at in range(0, len(state.closed), width)]
    return {
        (driven, sensed)
        for driven, row in enumerate(rows)
        for sensed in range(8 * width)
        if int.from_bytes(row, "little") >> sensed & 1
    }


def test_an_unknown_message_is_refused_by_name(conduct: Conduct) -> None:
    def body(link: Link) -> None:
        host = Host(link)
        host.hello()
        number = host.send(0x7E, b"what")

        def refusal(message: Message | None) -> Refused | None:
            return message if isinstance(message, Refused) and message.command_type == 0x7E else None

        refused = host.wait(0.25, refusal)
        assert refused.code == Refusal.UNKNOWN_MESSAGE
        assert refused.command == number or link.replays
        assert isinstance(host.ask(Stop()), Ack)

    conduct(body)


def test_start_without_settings_and_settings_while_scanning_are_refused(conduct: Conduct) -> None:
    def body(link: Link) -> None:
        host = Host(link)
        host.hello()
        early = host.ask(Start(0))
        assert isinstance(early, Refused) and early.code == Refusal.NOT_CONFIGURED
        host.start(ROLES)
        late = host.ask(SetLines(ROLES))
        assert isinstance(late, Refused) and late.code == Refusal.RUNNING

    conduct(body)


def test_stop_ends_scanning(conduct: Conduct) -> None:
    def body(link: Link) -> None:
        host = Host(link)
        host.hello()
        host.start(ROLES)
        host.listen(0.2)
        assert isinstance(host.ask(Stop()), Ack)
        after = host.listen(1.2)
        assert not any(isinstance(message, State | Transitions) for message in after)
        beats = [message.state for message in after if isinstance(message, Heartbeat)]
        assert beats and set(beats) == {RunState.IDLE}

    conduct(body)


def test_a_silent_host_makes_the_board_safe(conduct: Conduct) -> None:
    def body(link: Link) -> None:
        host = Host(link)
        host.hello()
        host.start(ROLES)
        during = host.listen(1.5)
        assert any(isinstance(message, State) for message in during)
        host.listen(1.0)
        after = host.listen(1.2)
        assert not any(isinstance(message, State | Transitions) for message in after)
        assert {message.state for message in after if isinstance(message, Heartbeat)} == {RunState.HOST_SILENT}

    conduct(body)
