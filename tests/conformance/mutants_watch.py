"""Boards that watch, and get it wrong."""

from __future__ import annotations

from dataclasses import replace

from tailwise.wire.frames import Frame
from tailwise.wire.messages import Openings, Refusal, RunState, SetWatch, Start, State, Watched
from tailwise.wire.payload import Opening
from tests.conformance.minimal_board import MinimalBoard
from tests.conformance.mutant import breaks
from tests.conformance.watching_board import Counted, WatchingBoard


@breaks("watch_unconfigured")
class WatchesSomethingByItself(WatchingBoard):
    def reset(self) -> None:
        super().reset()
        self.watch = SetWatch(0, b"\0\1")


@breaks("watch_set", spreads=True)
class TakesNoPairAtAll(WatchingBoard):
    watchable = 0


@breaks("watch_set", spreads=True)
class CallsEveryPairAWrongLength(WatchingBoard):
    def set_watch(self, frame: Frame, message: SetWatch) -> None:
        self.refuse(frame, Refusal.BAD_PAYLOAD)


@breaks("watch_set_refused")
class TakesAnyPullUp(WatchingBoard):
    def set_watch(self, frame: Frame, message: SetWatch) -> None:
        super().set_watch(frame, replace(message, pull_up=0))


@breaks("watch_set_refused")
class SensesALineAgainstItself(WatchingBoard):
    def unfit_lines(self, sensed: bytes, driven: bytes) -> list[int]:
        return [line for line in super().unfit_lines(sensed, driven) if line >= self.watchable]


@breaks("watch_start")
class ChecksEveryLineForAWatch(WatchingBoard):
    def watch_roles(self) -> bytes:
        return b"\3" * self.lines


@breaks("watch_running")
class TakesOtherPairsWhileWatching(WatchingBoard):
    def handle(self, frame: Frame) -> None:
        if frame.type == SetWatch.TYPE and self.watching:
            self.ack(frame)
        else:
            super().handle(frame)


@breaks("watch_stop_quiet", spreads=True)
class SaysOneWatchedMore(WatchingBoard):
    def stop(self, frame: Frame) -> None:
        watching = self.watching
        super().stop(frame)
        if watching:
            self.later.append((self.now + 5_000, self.watched(0, *(*self.counted, Counted())[:2])))


@breaks("watch_then_matrix", "state_size", "transitions_fit")
class ForgetsTheRolesInAWatch(WatchingBoard):
    def begin_watch(self) -> None:
        self.roles = b"\3" * self.lines
        super().begin_watch()


@breaks("watch_silence")
class WatchesForNobody(WatchingBoard):
    def begin_watch(self) -> None:
        super().begin_watch()
        self.silence_us = 1 << 60

    def end_watch(self) -> None:
        super().end_watch()
        self.silence_us = 2_000_000


@breaks("watch_long", spreads=True)
class TiresOfWatching(WatchingBoard):
    begun = 0

    def begin_watch(self) -> None:
        super().begin_watch()
        self.begun = self.now

    def poll(self) -> None:
        super().poll()
        if self.now - self.begun > 700_000:
            self.watching, self.state = False, RunState.IDLE


@breaks("watch_alone")
class SaysWhatItDoesNotScan(WatchingBoard):
    def report_watched(self) -> None:
        super().report_watched()
        self.send(State(self.clock_at(self.now), 0, bytes(self.lines)))


@breaks("watch_alone")
class SaysIdleWhileWatching(WatchingBoard):
    def shown_state(self) -> int:
        return RunState.IDLE if self.watching else super().shown_state()


@breaks("watch_alone")
class CountsInTheMatrixToo(WatchingBoard):
    def report_state(self) -> None:
        super().report_state()
        self.send(self.watched(0, Counted(), Counted()))


@breaks("watched_period")
class CountsRarely(WatchingBoard):
    watched_us = 70_000


@breaks("watched_counts", "openings_counted")
class GoesOnWithTheCountOfTheWatchBefore(WatchingBoard):
    def begin_watch(self) -> None:
        before = self.counted
        super().begin_watch()
        for now, then in zip(self.counted, before, strict=False):
            now.openings, now.open_us = then.openings + 1, 5_000_000


@breaks("watched_counts")
class ClosesAPairThatIsNotWatched(WatchingBoard):
    def watched(self, bits: int, first: Counted, second: Counted) -> Watched:
        return super().watched(bits | 2, first, second)


@breaks("watched_counts")
class StatesNoShortestOpening(WatchingBoard):
    shortest_ns = 0


@breaks("watched_counts")
class IsBlindForLongerThanItWatches(WatchingBoard):
    def watched(self, bits: int, first: Counted, second: Counted) -> Watched:
        return replace(super().watched(bits, first, second), blind=3_600_000_000)


@breaks("openings_fit", "openings_counted")
class NamesAThirdPair(WatchingBoard):
    def end_opening(self, one: Opening) -> None:
        super().end_opening(replace(one, pair=2))


@breaks("openings_fit")
class SaysWhenItEndedInsteadOfWhenItBegan(WatchingBoard):
    def end_opening(self, one: Opening) -> None:
        super().end_opening(replace(one, start=one.start + one.length + 8_000))


@breaks("openings_fit")
class TellsThemBackwards(WatchingBoard):
    entries = 2

    def report_openings(self) -> None:
        self.ended.reverse()
        super().report_openings()


@breaks("openings_fit")
class SaysThatNoneEnded(WatchingBoard):
    def report_openings(self) -> None:
        super().report_openings()
        self.send(Openings(()))


@breaks("openings_counted")
class LosesOneInFive(WatchingBoard):
    told = 0

    def end_opening(self, one: Opening) -> None:
        self.told += 1
        if self.told % 5:
            super().end_opening(one)


@breaks("openings_counted")
class CountsTooFew(WatchingBoard):
    def watched(self, bits: int, first: Counted, second: Counted) -> Watched:
        counts = super().watched(bits, first, second)
        return replace(counts, openings_first=counts.openings_first // 2)


@breaks("openings_counted")
class MeasuresHalf(WatchingBoard):
    def end_opening(self, one: Opening) -> None:
        super().end_opening(replace(one, length=one.length // 2))


@breaks("openings_delay")
class KeepsOpeningsBack(WatchingBoard):
    openings_us = 90_000
    entries = 20


@breaks("unannounced_capability", "values_out_of_range")
class StartsInAnyMode(MinimalBoard):
    def start(self, frame: Frame, message: Start) -> None:
        super().start(frame, Start(0))
