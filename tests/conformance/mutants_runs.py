"""Boards that get a run, the line check or the host's silence wrong."""

from __future__ import annotations

from tailwise.wire.frames import Frame, FrameError
from tailwise.wire.messages import Hello, RunState, SetScan, Start, State
from tests.conformance.minimal_board import MinimalBoard
from tests.conformance.mutant import breaks


@breaks("line_check_sent", "line_check_form")
class AnnouncesAndDoesNotCheck(MinimalBoard):
    def line_check(self) -> None:
        """Say nothing."""


@breaks("line_check_form")
class CallsUncheckedLinesClear(MinimalBoard):
    def status(self, line: int) -> int:
        return 1 if line >= self.checked else super().status(line)


@breaks("held_line")
class ForgetsThatItRefused(MinimalBoard):
    held = (2,)

    def shown_state(self) -> int:
        return RunState.IDLE


@breaks("heartbeat_state", "silence_in_heartbeat")
class AlwaysSaysIdle(MinimalBoard):
    def shown_state(self) -> int:
        return RunState.IDLE


@breaks("stop_quiet", spreads=True)
class SaysOneStateMore(MinimalBoard):
    def stop(self, frame: Frame) -> None:
        scanning = self.state == RunState.SCANNING
        super().stop(frame)
        if scanning and self.before is not None:
            self.later.append((self.now + 50_000, State(self.clock_at(self.now), 0, self.bitmaps())))


@breaks("start_again", "silence_needs_start")
class ForgetsAtStart(MinimalBoard):
    def stop(self, frame: Frame) -> None:
        if self.state == RunState.SCANNING:
            self.scan_setting = None
        super().stop(frame)

    def silence(self) -> None:
        super().silence()
        self.scan_setting = None


@breaks("mixed_roles", "refusal_changes_nothing", "state_size", "transitions_fit")
class DrivesSensedLines(MinimalBoard):
    def driven(self) -> list[int]:
        return [line for line, role in enumerate(self.roles or b"") if role]

    def can_scan(self) -> bool:
        return self.scan_setting is not None and len(self.driven()) > 1


@breaks("scan_period")
class IgnoresThePeriod(MinimalBoard):
    def set_scan(self, frame: Frame, message: SetScan) -> None:
        super().set_scan(frame, message)
        if self.scan_setting is not None:
            self.scan_setting = (0, self.scan_setting[1])


@breaks("longest_settle", "state_period")
class SettlesForAnAge(MinimalBoard):
    settle_max_ns = 9_000_000


@breaks("long_run", spreads=True)
class TiresAfterASecond(MinimalBoard):
    begun = 0

    def begin(self) -> None:
        super().begin()
        self.begun = self.now

    def scan(self) -> None:
        super().scan()
        if self.now - self.begun > 1_000_000:
            self.state = RunState.IDLE


@breaks("host_silence", "silence_in_heartbeat", "silence_needs_start", "noise_is_silence")
class NeverStops(MinimalBoard):
    silence_us = 1 << 60


@breaks("host_silence")
class StopsTooEarly(MinimalBoard):
    silence_us = 1_500_000


@breaks("silence_in_heartbeat")
class CallsSilenceIdle(MinimalBoard):
    def silence(self) -> None:
        super().silence()
        self.state = RunState.IDLE


@breaks("silence_needs_start", "state_agrees", "state_period")
class ResumesByItself(MinimalBoard):
    def handle(self, frame: Frame) -> None:
        if self.state == RunState.HOST_SILENT:
            self.begin()
        super().handle(frame)


@breaks("noise_is_silence")
class TakesNoiseForLife(MinimalBoard):
    def bad(self, error: FrameError) -> None:
        super().bad(error)
        self.last_good = self.now


@breaks("idle_silence")
class IsSilentWhileIdle(MinimalBoard):
    def shown_state(self) -> int:
        if self.state == RunState.IDLE and self.now - self.last_good > self.silence_us:
            return RunState.HOST_SILENT
        return super().shown_state()


@breaks("check_before_drive_only")
class ChecksForNothing(MinimalBoard):
    def start(self, frame: Frame, message: Start) -> None:
        if self.state == RunState.SCANNING:
            self.line_check()
        super().start(frame, message)


@breaks("no_restart", "numbers_without_holes", spreads=True)
class FallsOver(MinimalBoard):
    def hello(self, frame: Frame, message: Hello) -> None:
        super().hello(frame, message)
        if message.protocol_min > 1:
            self.reset()
            self.booted()
