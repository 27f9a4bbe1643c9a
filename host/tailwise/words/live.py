"""Sentences of a run: why it cannot go on, what broke, what happens next."""

from __future__ import annotations

from collections.abc import Sequence

Advice = tuple[str, str, str]
"""Reason, likely cause, next step."""

_RESET_CAUSES = {
    0: "the board restarted and cannot tell why",
    1: "the board restarted: its power was switched on",
    2: "the board restarted: its reset line was pulled, often by opening the port",
    3: "the board restarted: its supply sagged",
    4: "the board restarted: its watchdog bit",
}
STOPPED_ITSELF = "the board stopped by itself because it did not hear the host for 2 s"
BOARD_IDLE = "the board is idle although it was started"
SILENT = "no good frame from the board for 1.5 s"
NEXT_RECONNECT = "check the cable; everything so far is recorded, and the run goes on by itself when the board is back"
MARKS_EXPECTED = "expected a list of marks such as {at: 3.5, do: press, key: Q}"
MISSING = "missing"
WHOLE_NUMBER = "expected a whole number"
NEXT_REPLAY = "the replay goes on where bytes come again"
SILENT_HANDSHAKE = "the board does not say who it is"
STILL_RUNNING = "the board still scanned from an earlier start"
FORGOT = "the board forgot its settings"


def not_text(reason: str) -> str:
    """A file that is no text."""
    return f"not UTF-8 text: {reason}"


def unknown_deed(said: str, hint: str) -> str:
    """A mark that says something else."""
    return f"unknown deed {said}{hint}"


def needs_key(deed: str) -> str:
    """A press, hold or release without a key."""
    return f"missing: {deed} names a key"


def not_in_layout(what: str, name: str, hint: str) -> str:
    """A key, zone or tail the layout does not have."""
    return f"the layout has no {what} {name}{hint}"


def reset_cause(cause: int) -> str:
    """What BOOTED says."""
    return _RESET_CAUSES.get(cause, _RESET_CAUSES[0])


def another_board(before: str, now: str) -> Advice:
    """After a lost link a board with another serial number answers: one recording never holds two harnesses."""
    return (
        f"another board answers: {now}, it was {before}",
        "two harnesses were exchanged while the link was down",
        "start a new run on this board; what the first one recorded is judged",
    )


def bad_kept_wiring(problem: str) -> Advice:
    """A kept wiring file that cannot be used."""
    return (
        f"the wiring kept for this board cannot be used: {problem}",
        "the file was changed by hand, or the layout has other lines since",
        "find it out anew with `tailwise connect`, or go back to a plain harness with `tailwise connect --forget`",
    )


def no_answer(url: str) -> Advice:
    """Nothing at all came."""
    return (
        f"no answer from {url}",
        "the board has no tailwise firmware, has no power, or another device is on this port",
        "check the port with `tailwise ports`, flash the firmware as firmware_spec/WIRING.md says, then try again",
    )


def garbage_only(url: str, count: int, protocol: int) -> Advice:
    """Bytes, but no good frame."""
    return (
        f"{url} sends bytes ({count} so far) but no frame of wire protocol {protocol}",
        "another firmware runs on the board, or the port belongs to another device",
        "flash the firmware as firmware_spec/WIRING.md says, or choose another port",
    )


def frames_only(url: str, count: int) -> Advice:
    """Good frames, but never an identity."""
    return (
        f"{url} sends good frames ({count} so far) but does not say who it is",
        "the board does not hear the host, or its firmware does not follow the protocol",
        f"run `tailwise prove --port {url}` to see which rule it breaks",
    )


def echo_only(url: str) -> Advice:
    """The host hears itself."""
    return (
        f"{url} sends back what the host says",
        "transmit and receive are joined, or a loopback is connected instead of a board",
        "connect the harness board",
    )


def protocol_mismatch(board_min: int, board_max: int, protocol: int) -> Advice:
    """No version in common; says which side is out of date."""
    if board_max < protocol:
        side, step = "the board's firmware is out of date", "flash the firmware that came with this tailwise"
    else:
        side, step = "this tailwise is out of date", "update tailwise"
    return (
        f"the board speaks wire protocol {_span(board_min, board_max)}, this tailwise {protocol}",
        side,
        step,
    )


def protocol_refused(reason: str, protocol: int) -> Advice:
    """The board found no version in common and does not say what it speaks."""
    return (
        f"the board speaks no protocol that this tailwise speaks ({protocol}){_said(reason)}",
        "host and board are of different age",
        "flash the firmware that came with this tailwise, or update tailwise",
    )


def too_few_lines(layout: str, needed: int, wired: int, has: int, board: str) -> Advice:
    """The layout does not fit the harness."""
    need = f"{needed} lines" if wired <= needed else f"{needed} lines, wired up to board line {wired - 1}"
    return (
        f"layout {layout} needs {need}, the board {board} has {has}",
        "this board is too small for this keyboard",
        "use a board with more lines, or choose the layout of the keyboard that is plugged in",
    )


def odd_clock(tick_ns: int, protocol: int) -> Advice:
    """A clock that protocol 1 does not allow."""
    return (
        f"the board's clock counts {tick_ns} ns, protocol {protocol} asks for 1000 ns",
        "the board's firmware does not follow the protocol",
        "run `tailwise prove` on the port and correct the firmware",
    )


def command_refused(name: str, says: Advice | None, code: int, reason: str) -> Advice:
    """The board refused a command; `says` is what the protocol has to say about the code."""
    unknown = (f"refusal code {code}, unknown to this tailwise", "the board is newer than the host", "update tailwise")
    why, likely, step = says or unknown
    return f"the board refused {name}: {why}{_said(reason)}", likely, step


def held_lines(lines: tuple[str, ...]) -> Advice:
    """Something outside holds lines; nothing was driven."""
    what = f"line{'s' if len(lines) > 1 else ''} {', '.join(lines)}" if lines else "a line"
    return (
        f"{what} held from outside, so the board drives nothing",
        "the keyboard still hangs on a powered computer",
        "take the keyboard off the computer and start again",
    )


def restarts_again_and_again(times: int) -> Advice:
    """The board does not stay up."""
    return (
        f"the board stopped or restarted {times} times without one full reading",
        "its supply is too weak, or the cable has a bad contact",
        "use another cable and a port on the computer itself, then start again",
    )


def commands_unanswered(name: str) -> str:
    """Three times asked, no answer."""
    return f"the board answered none of three {name} commands"


def cannot_record(path: str, said: str) -> Advice:
    """The recording's file takes no more."""
    return (
        f"{path} takes no more records: {said}",
        "the disk is full or was taken away",
        "make room or record somewhere else, then run again; everything up to here is stored and judged",
    )


def not_regained(why: str) -> Advice:
    """The link stayed away."""
    return (
        f"the link did not come back: {why}",
        "the board is unplugged or has no power",
        "plug it in and run again; what was recorded is judged",
    )


def _span(low: int, high: int) -> str:
    return str(low) if low == high else f"{low} to {high}"


def _said(reason: str) -> str:
    return f" (it says: {reason})" if reason else ""


CANNOT_WATCH = "this board cannot watch single lines without pause: the whole matrix is watched at its scan rate"


def cannot_watch_lines(lines: Sequence[str]) -> str:
    """Lines that no wire leads to."""
    return f"no board line carries {', '.join(lines)}: the whole matrix is watched at its scan rate"
