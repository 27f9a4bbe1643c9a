"""Restarts, lost links, lost answers: run time goes on and nothing is taken for an opening."""

from __future__ import annotations

from tailwise.model.observation import Observations
from tailwise.recording.format import Linked, LinkEvent, Received, Record, Sent
from tailwise.wire.frames import encode
from tailwise.wire.messages import Ack, Booted, Command, Heartbeat, Refused, RunState, SetLines, SetScan, Start, State, Stop
from tailwise.words import judge as words
from tests.observe.board import EPOCH, MS, SECOND, Board, to_records
from tests.observe.folding import fold
from tests.observe.layouts import grid

GRID = grid(3, 3)
STATE_BYTES = 6 * 3


def run(records: list[Record]) -> Observations:
    return fold(GRID, records)


def a_run(until_us: int = 3 * SECOND) -> list[tuple[str, int, bytes]]:
    board = Board(GRID)
    board.press("A1", 2500 * MS)
    return board.frames(until_us)


def restarted(number: int, at_us: int, clock: int, *, length: int = 10, say_start: bool = True) -> list[Record]:
    """BOOTED, then configured and started again, then STATEs each 20 ms with nothing closed."""
    commands: tuple[Command, ...] = (SetLines(bytes([3] * 6)), SetScan(0, 0), Start(0))
    out: list[Record] = [Received(at_us, encode(Booted(4), 0))]
    for step, command in enumerate(commands):
        out.append(Sent(at_us + 1000, encode(command, number + step)))
        if say_start or command is not commands[-1]:
            out.append(Received(at_us + 2000, encode(Ack(number + step, command.TYPE, clock), step + 1)))
    for step in range(length):
        state = State(clock + 300 + step * 20 * MS, 0, bytes(STATE_BYTES))
        out.append(Received(at_us + 3000 + step * 20 * MS, encode(state, 4 + step)))
    return out


def test_a_run_without_trouble_counts_its_frames() -> None:
    frames = a_run()
    seen = run(to_records(frames))
    assert seen.started and not seen.link_lost
    assert seen.link.frames == sum(side == "rx" for side, _, _ in frames)
    assert (seen.link.lost, seen.link.bad, seen.link.gaps, seen.link.repeated) == (0, 0, 0, 0)
    assert seen.blind == ()
    assert [press.key for press in seen.presses] == ["A1"]
    assert abs(seen.presses[0].start_us - 2500 * MS) < MS


def test_a_board_that_restarts_goes_on_after_its_last_good_frame() -> None:
    records = to_records(a_run())
    before = run(records)
    last = records[-1].t_us
    seen = run([*records, *restarted(50, last + 70 * MS, 1234)])
    assert [each.why for each in seen.blind] == [words.BLIND_RESTART]
    assert seen.blind[0].start_us == before.end_us
    assert 0 <= seen.blind[0].length_us < 2 * MS
    assert seen.end_us == seen.blind[0].end_us + 9 * 20 * MS
    assert not seen.link_lost


def test_link_records_say_how_long_the_board_was_away() -> None:
    records = to_records(a_run())
    before = run(records)
    last = records[-1].t_us
    away: list[Record] = [
        Linked(last + 10 * MS, LinkEvent.LOST, "unplugged"),
        Linked(last + 5010 * MS, LinkEvent.REOPENED),
    ]
    seen = run([*records, *away, *restarted(50, last + 5100 * MS, 99)])
    assert [each.why for each in seen.blind] == [words.BLIND_LINK]
    assert abs(seen.blind[0].length_us - 5 * SECOND) < MS
    assert seen.blind[0].start_us == before.end_us


def test_without_a_reopened_record_the_start_command_tells_the_time_away() -> None:
    records = to_records(a_run())
    last = records[-1].t_us
    gone: list[Record] = [Linked(last, LinkEvent.RESTARTED, "board restarted")]
    seen = run([*records, *gone, *restarted(50, last + 400 * MS, 99)])
    assert abs(seen.blind[0].length_us - 401 * MS) < MS


def test_a_link_never_regained_is_told() -> None:
    records = to_records(a_run())
    assert run([*records, Linked(records[-1].t_us, LinkEvent.LOST, "unplugged")]).link_lost


def test_a_restart_never_configured_again_is_told() -> None:
    records = to_records(a_run())
    assert run([*records, Received(records[-1].t_us, encode(Booted(3), 0))]).link_lost


def test_an_end_by_stop_is_no_loss_even_if_closing_resets_the_board() -> None:
    records = to_records(a_run())
    number = sum(isinstance(each, Received) for each in records)
    end: list[Record] = [
        Sent(0, encode(Stop(), 900)),
        Received(0, encode(Ack(900, Stop.TYPE, 0), number)),
        Received(0, encode(Booted(2), 0)),
    ]
    seen = run([*records, *end])
    assert not seen.link_lost
    assert seen.blind == ()


def test_a_lost_acknowledgement_of_start_does_not_lose_the_run() -> None:
    frames = a_run()
    acks = [at for at, (side, _, data) in enumerate(frames) if side == "rx" and data == encode(Ack(4, 4, EPOCH), 6)]
    assert len(acks) == 1
    del frames[acks[0]]
    seen = run(to_records(frames))
    assert seen.started
    assert [press.key for press in seen.presses] == ["A1"]
    assert seen.link.lost == 1
    assert abs(seen.presses[0].start_us - 2500 * MS) < MS
    states = [at for at, (_, _, data) in enumerate(frames) if data[2:3] == bytes([State.TYPE])]
    del frames[states[0]]
    assert abs(run(to_records(frames)).presses[0].start_us - 2500 * MS) < MS


def test_a_lost_acknowledgement_after_a_restart_does_not_lose_the_rest() -> None:
    records = to_records(a_run())
    seen = run([*records, *restarted(50, records[-1].t_us, 7, say_start=False)])
    assert not seen.link_lost
    assert seen.end_us > 3150 * MS


def test_states_of_a_board_left_running_by_another_host_start_nothing() -> None:
    states: list[Record] = [
        Received(step, encode(State(step * 20 * MS, 0, bytes(STATE_BYTES)), 300 + step)) for step in range(5)
    ]
    assert not run(states).started
    later = to_records(a_run())
    seen = run([*states, *later])
    assert seen.started
    assert len(seen.presses) == 1


def test_a_board_that_stops_by_itself_is_blind_until_it_is_started_again() -> None:
    records = to_records(a_run())
    number = sum(isinstance(each, Received) for each in records)
    silent = Heartbeat((EPOCH + 3200 * MS) % (1 << 32), RunState.HOST_SILENT, 0, 0, 0, 1000, 260, 0)
    seen = run([*records, Received(records[-1].t_us, encode(silent, number))])
    assert seen.link_lost
    again = [
        *records,
        Received(records[-1].t_us, encode(silent, number)),
        Sent(records[-1].t_us, encode(Start(0), 60)),
        Received(records[-1].t_us, encode(Ack(60, Start.TYPE, 50), number + 1)),
        Received(records[-1].t_us, encode(State(400, 0, bytes(STATE_BYTES)), number + 2)),
    ]
    assert not run(again).link_lost
    assert [each.why for each in run(again).blind] == [words.BLIND_RESTART]


def test_refusals_keep_their_names_and_start_nothing() -> None:
    refusal = Refused(4, Start.TYPE, 6, 3, "held")
    records: list[Record] = [Sent(0, encode(Start(0), 4)), Received(0, encode(refusal, 9))]
    seen = run(records)
    assert seen.refusals == ("held_line",)
    assert not seen.started


def test_garbage_before_the_first_frame_is_bad_but_no_gap() -> None:
    frames = to_records(a_run())
    seen = run([Received(0, b"\x55\xaa\x00\xff\xfe\x00"), *frames])
    assert (seen.link.bad, seen.link.lost, seen.link.gaps) == (2, 0, 0)


def test_what_the_host_sends_and_reads_back_is_no_frame_of_the_board() -> None:
    frames = a_run()
    echoed = [("rx", time, data) for side, time, data in frames if side == "tx"]
    seen = run(to_records([*echoed, *frames]))
    assert (seen.link.lost, seen.link.gaps, len(seen.presses)) == (0, 0, 1)


def test_a_repeated_answer_to_start_is_no_new_start() -> None:
    frames = a_run()
    answers = [each for each in frames[:20] if each[0] == "rx"][3:7]
    assert answers[-1][2] == encode(Ack(4, 4, EPOCH), 6)
    seen = run(to_records([*frames[:30], *answers, *frames[30:]]))
    assert abs(seen.presses[0].start_us - 2500 * MS) < MS
