"""Boards whose frames, numbers, clocks or scan reports are wrong."""

from __future__ import annotations

from tailwise.wire.frames import encode_frame
from tailwise.wire.messages import RunState, State, Transitions
from tailwise.wire.payload import Transition
from tests.conformance.minimal_board import MinimalBoard
from tests.conformance.mutant import breaks


@breaks("frames_good")
class Stammers(MinimalBoard):
    def heartbeat(self) -> None:
        self.out += b"\x05\x11\x22\x33\x44\x00"
        super().heartbeat()


@breaks("numbers_without_holes")
class SkipsANumber(MinimalBoard):
    def heartbeat(self) -> None:
        super().heartbeat()
        if self.state == RunState.IDLE:
            self.number = (self.number + 1) % 65536


@breaks("messages_known")
class SaysWhatNobodyKnows(MinimalBoard):
    def heartbeat(self) -> None:
        super().heartbeat()
        self.out += encode_frame(0xC5, self.number, b"\x01")
        self.number = (self.number + 1) % 65536


@breaks("messages_known")
class MeasuresWithoutSayingThatItCan(MinimalBoard):
    def heartbeat(self) -> None:
        super().heartbeat()
        self.out += encode_frame(0xB0, self.number, b"")
        self.number = (self.number + 1) % 65536


@breaks("clock_never_back", "heartbeat_period")
class StepsItsClock(MinimalBoard):
    beats = 0

    def heartbeat(self) -> None:
        self.beats += 1
        start, self.clock_start = self.clock_start, self.clock_start - 3_000_000 * (self.beats == 4)
        super().heartbeat()
        self.clock_start = start


@breaks("clock_rate")
class RunsFast(MinimalBoard):
    def clock_at(self, at_us: int) -> int:
        return super().clock_at(at_us * 104 // 100)


@breaks("heartbeat_period")
class BeatsSlowly(MinimalBoard):
    heartbeat_us = 650_000


@breaks("booted_first")
class TalksBeforeItIsAsked(MinimalBoard):
    boot_us = 300_000

    def booted(self) -> None:
        super().booted()
        self.heartbeat()


@breaks("state_first")
class ReportsTheFirstScanAsChanges(MinimalBoard):
    def compare(self, sampled: int, drive: int, bits: int) -> None:
        self.before = self.before or {}
        self.before.setdefault(drive, 0)
        super().compare(sampled, drive, bits)


@breaks("state_period")
class ShowsItsStateRarely(MinimalBoard):
    state_us = 60_000


@breaks("state_size")
class ForgetsABitmapNowAndThen(MinimalBoard):
    shown = 0

    def bitmaps(self) -> bytes:
        self.shown += 1
        return super().bitmaps()[self.shown % 50 == 0 :]


@breaks("unread_bits")
class ReadsItsOwnLine(MinimalBoard):
    def bitmaps(self) -> bytes:
        return bytes(byte | 1 << line for line, byte in zip(self.driven(), super().bitmaps(), strict=True))


@breaks("transitions_fit", "sampling_in_order", spreads=True)
class TellsItBackwards(MinimalBoard):
    def report_transitions(self, first: int, entries: tuple[Transition, ...]) -> None:
        super().report_transitions(first, entries[::-1])


@breaks("state_agrees", "transitions_change")
class LosesOpenings(MinimalBoard):
    def report_transitions(self, first: int, entries: tuple[Transition, ...]) -> None:
        kept = tuple(entry for entry in entries if entry.closed or entry.driven != 1)
        if kept:
            super().report_transitions(first, kept)


@breaks("transitions_change")
class SaysEverythingTwice(MinimalBoard):
    def report_transitions(self, first: int, entries: tuple[Transition, ...]) -> None:
        super().report_transitions(first, tuple(entry for entry in entries for _ in range(2)))


@breaks("transition_delay")
class HoldsChangesBack(MinimalBoard):
    flush_us = 18_000


@breaks("sampling_in_order")
class DatesStateFromItsBeginning(MinimalBoard):
    def report_state(self) -> None:
        self.state_at = self.now
        self.send(State(self.clock_at(self.now - self.scan_us()), self.dropped, self.bitmaps()))


@breaks("dropped_grows")
class CountsDropsOfTheRunBefore(MinimalBoard):
    def begin(self) -> None:
        super().begin()
        self.dropped = 5


@breaks("transitions_fit", spreads=True)
class NamesLinesOfNoRole(MinimalBoard):
    def report_transitions(self, first: int, entries: tuple[Transition, ...]) -> None:
        self.send(Transitions(self.clock_at(first), (*entries, Transition(entries[-1].delta, 2, 2, True))))
