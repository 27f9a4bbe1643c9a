"""What `prove` says that it saw; the rules themselves stand in `conformance_rules`."""

from __future__ import annotations

NOTHING = "nothing"
NO_HEARTBEAT = "no HEARTBEAT in 0.7 s"
NO_RESET_SEEN = "no BOOTED was seen; reset the board while its port is open, or prove it right after power-up"
NO_LINE_CHECK = "the board does not announce line_check"
NO_LINE_HELD = "no line is held from outside"
NO_RUN = "no run could be started"
HAS_ALL_CAPABILITIES = "the board announces all of them"
TOO_SHORT = "less than 5 s were seen"
SAME_IDENTITY = "the same"
ACKNOWLEDGED = "acknowledged"
REFUSED_AND_WENT_ON = "refused, and the board went on"
ANSWERED_AND_WENT_ON = "answered, and the board went on"
SETTINGS_KEPT = "the settings were kept"
SCANNING_STOPPED = "no STATE came any more"
WENT_ON = "the board went on"
QUIET = "quiet"
CLOCK_FORWARD = "forward only"
TRANSITIONS_FIRST = "TRANSITIONS came before the first STATE"
LONE_LINE_CHECK = "a LINE_CHECK without START's ACK or REFUSED held_line after it"
GONE = "the board does not answer any more; what came before this rule made it hang"
ENDED = "the scenario ended before this rule"
REPLAY = "a recording cannot be proved: nobody answers in it. Next step: prove the board itself, tailwise prove --port URL"


def no_identity(url: str, bad: int) -> str:
    """No board there."""
    came = f"{bad} bad frames came" if bad else "nothing came that is a frame"
    return (
        f"no IDENTITY from {url} in 5 s, {came}. Likely cause: another device, another firmware or another baud rate. "
        "Next step: check the port with `tailwise ports`, and the firmware's framing against firmware_spec/vectors"
    )


def link_lost(url: str, why: str) -> str:
    """The link broke while a board was tried."""
    return f"the link to {url} broke ({why}). Likely cause: unplugged. Next step: plug it in and prove again"


def board_named(board: str, firmware: str, lines: int) -> str:
    """Who is tried."""
    return f"{board}, firmware {firmware}, {lines} lines"


def line(outcome: str, rule: str, title: str) -> str:
    """One rule's line of the report."""
    return f"{outcome:<14}  {rule:<24} {title}"


def broken(expected: str, seen: str, section: int) -> list[str]:
    """What follows the line of a broken rule."""
    return [f"{'':<16}expected: {expected}", f"{'':<16}seen: {seen}", f"{'':<16}see PROTOCOL.md, section {section}"]


def summary(passed: int, failed: int, not_applicable: int) -> str:
    """The report's last line."""
    return f"{passed} rules kept, {failed} broken, {not_applicable} not applicable"


def refusal(code: str, detail: int, reason: str) -> str:
    """A REFUSED in words."""
    return f"REFUSED {code}, detail {detail}, reason {reason!r}"


def wanted_ack(command: str, got: str) -> str:
    """Something else than an ACK came."""
    return f"{command} got {got} instead of its ACK"


def wanted_refusal(command: str, codes: list[str], got: str) -> str:
    """Something else than the refusal came."""
    return f"{command} got {got} instead of REFUSED {' or '.join(codes)}"


def wanted_identity(got: str) -> str:
    """Something else than an IDENTITY came."""
    return f"HELLO got {got} instead of IDENTITY"


def refused_with(code: str) -> str:
    """All were refused."""
    return f"REFUSED {code}"


def differs(first: str, second: str) -> str:
    """Two that should be the same."""
    return f"first {first}, then {second}"


def field_is(name: str, value: object) -> str:
    """A field's value."""
    return f"{name} {value}"


def damage_answered(got: str) -> str:
    """A bad frame got an answer."""
    return f"{got} in answer to bytes that are no good frame"


def counted(before: int, after: int, wanted: int) -> str:
    """bad_frames before and after."""
    return f"bad_frames went from {before} to {after} for {wanted} bad frame(s)"


def longest_taken(size: int) -> str:
    """The longest command."""
    return f"{size} bytes taken"


def line_is_held(number: int) -> str:
    """Why runs cannot be tried."""
    return f"line {number} is held from outside; take everything off the harness and prove again"


def held(detail: int, lines: list[int], state: int, scanned: bool) -> str:
    """What a held line did."""
    return f"detail {detail}, held lines {lines}, run_state {state}, {'scanned' if scanned else 'did not scan'}"


def status_of(number: int, status: int) -> str:
    """A line's status."""
    return f"line {number} has status {status}"


def line_checks(count: int) -> str:
    """How many LINE_CHECK came."""
    return f"{count} LINE_CHECK"


def run_state(state: int) -> str:
    """What HEARTBEAT said."""
    return f"HEARTBEAT with run_state {state}"


def beats(seen: list[tuple[int, int]]) -> str:
    """HEARTBEATs while scanning."""
    return "HEARTBEATs (run_state, scans): " + ", ".join(f"({state}, {scans})" for state, scans in seen)


def late_reports(count: int) -> str:
    """Reports after the end."""
    return f"{count} STATE or TRANSITIONS came"


def state_sizes(sizes: list[int], wanted: int) -> str:
    """Bytes of `closed`."""
    return f"STATE with {', '.join(map(str, sizes)) or 'no'} bytes in closed, {wanted} expected"


def scan_too_long(worst_us: int) -> str:
    """The period cannot be kept."""
    return f"a scan takes up to {worst_us} us"


def mean_period(mean_us: float) -> str:
    """Microseconds from scan to scan."""
    return f"{mean_us:.0f} us from scan to scan"


def run_seen(states: int, transitions: int, clock: int) -> str:
    """What a run brought."""
    return f"{states} STATE and {transitions} TRANSITIONS up to clock {clock}"


def scanned_for(last_us: int) -> str:
    """How long scanning went on."""
    return f"the last STATE or TRANSITIONS {last_us / 1e6:.3f} s after the host's last word"


def frames_seen(count: int) -> str:
    """How many frames a rule looked at."""
    return f"{count} frames looked at"


def bad_frames(count: int, last: str) -> str:
    """Bad frames from the board."""
    return f"{count} bad frame(s), the last: {last}. Likely cause: a bad cable or another baud rate, else the board's framing"


def number_jump(before: int, after: int) -> str:
    """A hole."""
    return f"number {after} after {before}"


def payload_unfit(kind: int, payload: str) -> str:
    """A payload that does not fit."""
    return f"type {kind:02X} with payload {payload}"


def type_unknown(kind: int) -> str:
    """A type that must not come."""
    return f"type {kind:02X}"


def answers_to(command: str, number: int, count: int) -> str:
    """None or too many."""
    return f"{count} answers to {command} number {number}"


def stray_answer(got: str) -> str:
    """An answer to nothing."""
    return f"{got} for a number that was never sent"


def answered(count: int) -> str:
    """How many commands were sent."""
    return f"{count} commands"


def slowest(longest_us: int) -> str:
    """The slowest answer."""
    return f"the slowest answer took {longest_us / 1000:.1f} ms"


def clock_back(kind: str, before: int, after: int) -> str:
    """A clock that went back."""
    return f"{kind} with clock {after} after clock {before}"


def clock_ratio(ratio: float) -> str:
    """Board's clock over host's clock."""
    return f"{ratio:.4f} counts a microsecond"


def heartbeats_apart(apart_us: int) -> str:
    """HEARTBEAT too early, too late or missing."""
    return f"{apart_us / 1000:.0f} ms from one HEARTBEAT to the next or to a later ACK"


def unasked(kind: int) -> str:
    """A report before HELLO."""
    return f"type {kind:02X} between BOOTED and the first IDENTITY"


def restarts(count: int) -> str:
    """How often it restarted."""
    return f"{count} restarts"


def runs_seen(count: int) -> str:
    """How many runs a rule looked at."""
    return f"{count} runs looked at"


def states_apart(longest_us: int) -> str:
    """The longest stretch without STATE."""
    return f"{longest_us / 1000:.1f} ms at most"


def bit_set(driven: int, sensed: int) -> str:
    """A bit that must be 0."""
    return f"bit {sensed} set while line {driven} was driven"


def deltas(values: list[int]) -> str:
    """Deltas out of order or too many."""
    return f"deltas {values}"


def odd_entry(driven: int, sensed: int) -> str:
    """Lines that are not of the run."""
    return f"an entry for driven line {driven} and sensed line {sensed}"


def entries_seen(count: int) -> str:
    """How many entries a rule looked at."""
    return f"{count} entries looked at"


def disagrees(pair: tuple[int, int]) -> str:
    """Where STATE and transitions differ."""
    return f"they differ for driven line {pair[0]}, sensed line {pair[1]}"


def changes_nothing(pair: tuple[int, int]) -> str:
    """An entry that repeats a reading."""
    return f"an entry for driven line {pair[0]}, sensed line {pair[1]} repeats the reading before"


def states_compared(count: int) -> str:
    """How many STATEs were compared."""
    return f"{count} STATE compared"


def transition_held(oldest_us: int) -> str:
    """The oldest transition behind a later ACK."""
    return f"sent up to {max(0, oldest_us) / 1000:.1f} ms after its scan, behind an ACK or HEARTBEAT"


def out_of_order(before: int, after: int) -> str:
    """Sampling times in the wrong order."""
    return f"clock {after} after {before}"


def dropped_went(before: int, after: int) -> str:
    """A count that shrank or did not start at 0."""
    return f"dropped {after} after {before}"
