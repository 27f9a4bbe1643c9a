"""Rules about what every watch reports: WATCHED, OPENINGS, and that both tell the same story. They read the whole log.

Counts are whole, single openings may be dropped: so at the end counted = listed + dropped, each pair's lengths agree
where nothing was dropped (each length is rounded to one clock tick), and no opening is listed before it is counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from tailwise.conformance.expect import signed
from tailwise.conformance.rule import Broken, NotApplicable, Rule
from tailwise.conformance.session import Heard, Run, Session
from tailwise.conformance.spoken import spoken
from tailwise.conformance.watchpairs import need_watch
from tailwise.wire.messages import (
    STATE_PERIOD_MAX_MS,
    Ack,
    Heartbeat,
    Openings,
    RunState,
    State,
    Transitions,
    Watched,
)
from tailwise.wire.payload import Opening
from tailwise.words import conformance as said
from tailwise.words import conformance_watch as words

MAX_OPENINGS = 20
_DELAY_US = 20_000
_SLACK_US = 5_000
_GROWING = ("openings_first", "open_first", "openings_second", "open_second", "blind", "dropped")
_TIMES = ("open_first", "open_second", "blind")
_SECOND = ("openings_second", "open_second")


def _watches(board: Session) -> Iterator[tuple[Run, int, list[Heard]]]:
    """Each watch with the clock of its START and what was heard in it."""
    need_watch(board)
    if not board.watches:
        raise NotApplicable(words.NO_WATCH_RUN)
    for run in board.watches:
        began = board.heard[run.first - 1].message
        assert isinstance(began, Ack)
        yield run, began.clock, board.heard[run.first : run.end]


def _openings(board: Session) -> Iterator[tuple[Run, int, list[Heard]]]:
    """The watches; NotApplicable where none of them saw an opening."""
    watches = list(_watches(board))
    if not any(isinstance(heard.message, Openings) for _, _, log in watches for heard in log):
        raise NotApplicable(words.NO_OPENING)
    yield from watches


def _whole(log: list[Heard]) -> bool:
    """No number is missing."""
    numbers = [heard.frame.number for heard in log]
    return all((after - before) % 65536 == 1 for before, after in pairwise(numbers))


def watch_alone(board: Session) -> str:
    """A watch scans no matrix, a matrix run watches nothing; HEARTBEAT says scanning up to the STOP or the silence."""
    for run, _, log in _watches(board):
        for heard in log:
            if isinstance(heard.message, State | Transitions):
                raise Broken(words.strange_report(spoken(heard.message), "in a watch"))
            silent = isinstance(heard.message, Heartbeat) and heard.message.state == RunState.HOST_SILENT
            if isinstance(heard.message, Heartbeat) and not silent and heard.message.state != RunState.SCANNING and run.stopped:
                raise Broken(words.state_while_watching(heard.message.state))
    for run in board.runs:
        for heard in board.heard[run.first : run.end]:
            if isinstance(heard.message, Watched | Openings):
                raise Broken(words.strange_report(spoken(heard.message), "in a scan of the matrix"))
    return words.watches_seen(len(board.watches))


def watched_period(board: Session) -> str:
    """At most 50 ms of the board from START's ACK to the first WATCHED and from WATCHED to WATCHED."""
    longest = 0
    for _, began, log in _watches(board):
        last = began
        for heard in log:
            if isinstance(heard.message, Watched):
                longest = max(longest, signed(heard.message.clock - last))
                last = heard.message.clock
            elif isinstance(heard.message, Heartbeat) and heard.message.state == RunState.SCANNING:
                longest = max(longest, signed(heard.message.clock - last) - STATE_PERIOD_MAX_MS * 1000 // 2)
    if longest > STATE_PERIOD_MAX_MS * 1000:
        raise Broken(words.watched_apart(longest))
    return words.watched_apart(longest)


def watched_counts(board: Session) -> str:
    """From 0, never less than before, no more open or blind than time went by, nothing of a second pair without one."""
    for run, began, log in _watches(board):
        second = len(run.pairs) > 2
        last = dict.fromkeys(_GROWING, 0)
        for heard in log:
            if not isinstance(heard.message, Watched):
                continue
            now = {name: int(getattr(heard.message, name)) for name in _GROWING}
            elapsed = signed(heard.message.clock - began)
            for name in _GROWING:
                if now[name] < last[name]:
                    raise Broken(words.went_back(name, last[name], now[name]))
                if name in _TIMES and now[name] > elapsed + _SLACK_US:
                    raise Broken(words.more_than_time(name, now[name], elapsed))
                if name in _SECOND and now[name] and not second:
                    raise Broken(said.field_is(name, now[name]))
            if heard.message.closed > (3 if second else 1):
                raise Broken(said.field_is("closed", heard.message.closed))
            if not heard.message.shortest_ns:
                raise Broken(said.field_is("shortest_ns", 0))
            last = now
    return words.watches_seen(len(board.watches))


def openings_fit(board: Session) -> str:
    """1 to 20 entries of watched pairs; each pair's follow one another, none before the watch began nor after it was sent."""
    seen = 0
    for run, began, log in _openings(board):
        ended = dict.fromkeys(range(len(run.pairs) // 2), began)
        for at, heard in enumerate(log):
            if not isinstance(heard.message, Openings):
                continue
            if not 1 <= len(heard.message.entries) <= MAX_OPENINGS:
                raise Broken(words.entry_count(len(heard.message.entries)))
            later = next((each.message.clock for each in log[at + 1 :] if isinstance(each.message, Watched | Heartbeat)), None)
            for one in heard.message.entries:
                _fits(one, ended, later)
                ended[one.pair] = one.start + one.length
                seen += 1
    return words.openings_seen(seen)


def _fits(one: Opening, ended: dict[int, int], later: int | None) -> None:
    """ended: by pair the end of its opening before; later: a clock that was told after this one."""
    if one.pair not in ended:
        raise Broken(words.odd_opening("no such pair", one.pair, one.start, one.length))
    if signed(one.start - ended[one.pair]) < -1:
        raise Broken(words.odd_opening("before the one before it ended", one.pair, one.start, one.length))
    if later is not None and signed(one.start + one.length - later) > _SLACK_US:
        raise Broken(words.odd_opening("not ended when it was told", one.pair, one.start, one.length))


def openings_counted(board: Session) -> str:
    """Every listed opening is counted by the next WATCHED; in the end every counted one was listed or dropped."""
    seen = 0
    for run, _, log in _openings(board):
        if not _whole(log):
            continue
        pairs = len(run.pairs) // 2
        listed: list[list[Opening]] = [[] for _ in range(pairs)]
        counts: list[Watched] = []
        for heard in log:
            if isinstance(heard.message, Openings):
                for one in heard.message.entries:
                    if one.pair < pairs:
                        listed[one.pair].append(one)
            elif isinstance(heard.message, Watched):
                counts.append(heard.message)
                for pair, mine in enumerate(listed):
                    counted = _of(heard.message, pair)[0]
                    if len(mine) > counted:
                        raise Broken(words.uncounted(pair, len(mine), counted))
        seen += sum(map(len, listed))
        if counts:
            _agree(counts, listed)
    return words.openings_seen(seen)


def _agree(counts: list[Watched], listed: list[list[Opening]]) -> None:
    last = counts[-1]
    settled = [each for each in counts if signed(last.clock - each.clock) > _DELAY_US + _SLACK_US]
    if not settled:
        return
    counted = sum(_of(settled[-1], pair)[0] for pair in range(len(listed)))
    told = sum(map(len, listed))
    if counted > told + last.dropped:
        raise Broken(words.unlisted(counted, told, last.dropped))
    for pair, mine in enumerate(listed):
        number, length = _of(last, pair)
        together = sum(one.length for one in mine)
        if number == len(mine) and abs(length - together) > number:
            raise Broken(words.lengths_differ(pair, length, together))


def _of(counts: Watched, pair: int) -> tuple[int, int]:
    """Openings of a pair, and their length together."""
    if pair == 0:
        return counts.openings_first, counts.open_first
    return counts.openings_second, counts.open_second


def openings_delay(board: Session) -> str:
    """No ACK, HEARTBEAT or WATCHED of a later time than 20 ms after an opening's end goes out before it."""
    oldest = 0
    for _, _, log in _openings(board):
        spoke: int | None = None
        dropped = any(isinstance(heard.message, Watched) and heard.message.dropped for heard in log)
        for heard in log if not dropped else ():
            if isinstance(heard.message, Ack | Heartbeat | Watched):
                spoke = heard.message.clock
            elif isinstance(heard.message, Openings) and spoke is not None:
                ends = [one.start + one.length for one in heard.message.entries]
                oldest = max([oldest, *(signed(spoke - end) for end in ends)])
    if oldest > _DELAY_US + _SLACK_US:
        raise Broken(words.opening_held(oldest))
    return words.opening_held(oldest)


RULES = (
    Rule("watch_alone", watch_alone),
    Rule("watched_period", watched_period),
    Rule("watched_counts", watched_counts),
    Rule("openings_fit", openings_fit),
    Rule("openings_counted", openings_counted),
    Rule("openings_delay", openings_delay),
)
