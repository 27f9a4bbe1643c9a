"""Boards that get a command, IDENTITY or a refusal wrong."""

from __future__ import annotations

from dataclasses import replace

from tailwise.wire.frames import Frame
from tailwise.wire.messages import (
    Ack,
    Hello,
    Identity,
    Message,
    Refusal,
    Refused,
    RunState,
    SetLines,
    SetScan,
    Start,
    Stop,
)
from tests.conformance.minimal_board import MinimalBoard
from tests.conformance.mutant import breaks


@breaks("start_unconfigured")
class ConfiguredFromBirth(MinimalBoard):
    def reset(self) -> None:
        super().reset()
        self.roles, self.scan_setting = bytes([3] * self.lines), (0, 0)


@breaks("hello_answered", "hello_again", "hello_while_scanning", "one_answer")
class NamesAnotherHello(MinimalBoard):
    def identity(self, command: int) -> Identity:
        return super().identity(command + 1000)


@breaks("hello_again")
class ChangesItsName(MinimalBoard):
    told = 0

    def identity(self, command: int) -> Identity:
        self.told += 1
        return replace(super().identity(command), firmware_patch=self.told)


@breaks("hello_no_protocol")
class SpeaksAnything(MinimalBoard):
    def hello(self, frame: Frame, message: Hello) -> None:
        super().hello(frame, Hello(1, 1))


@breaks("identity_version")
class SpeaksProtocol2(MinimalBoard):
    def identity(self, command: int) -> Identity:
        return replace(super().identity(command), protocol_min=2, protocol_max=2)


@breaks("identity_lines", spreads=True)
class HasTooManyLines(MinimalBoard):
    def identity(self, command: int) -> Identity:
        return replace(super().identity(command), line_count=41)


@breaks("identity_clock_tick")
class CountsOtherwise(MinimalBoard):
    def identity(self, command: int) -> Identity:
        return replace(super().identity(command), clock_tick_ns=4000)


@breaks("identity_settle")
class SettlesLongerThanItCan(MinimalBoard):
    def identity(self, command: int) -> Identity:
        return replace(super().identity(command), settle_default_ns=self.settle_max_ns + 1)


@breaks("identity_command_bytes")
class TakesShortCommandsOnly(MinimalBoard):
    max_command_bytes = 48


@breaks("identity_checked_lines")
class ChecksLinesItLacks(MinimalBoard):
    def identity(self, command: int) -> Identity:
        return replace(super().identity(command), checked_lines=b"\x4f")


@breaks("identity_names")
class HasNoName(MinimalBoard):
    def identity(self, command: int) -> Identity:
        return replace(super().identity(command), board="")


@breaks("start_without_lines")
class ScansNothing(MinimalBoard):
    def can_scan(self) -> bool:
        return self.roles is not None and self.scan_setting is not None

    def begin(self) -> None:
        if super().can_scan():
            super().begin()


@breaks("idle_commands")
class RefusesStopWhileIdle(MinimalBoard):
    def stop(self, frame: Frame) -> None:
        if self.state == RunState.IDLE:
            self.refuse(frame, Refusal.NOT_CONFIGURED)
        else:
            super().stop(frame)


@breaks("numbers_echoed", "one_answer")
class IgnoresRepeatedNumbers(MinimalBoard):
    last = -1

    def handle(self, frame: Frame) -> None:
        if frame.number != self.last:
            super().handle(frame)
        self.last = frame.number


@breaks("unknown_message", "unannounced_capability", "longest_command", "one_answer")
class IgnoresWhatItDoesNotKnow(MinimalBoard):
    def unknown(self, frame: Frame) -> None:
        """Say nothing."""


@breaks("unannounced_capability")
class PretendsToMeasure(MinimalBoard):
    def unknown(self, frame: Frame) -> None:
        if 0x20 <= frame.type < 0x38:
            self.ack(frame)
        else:
            super().unknown(frame)


@breaks("bad_payload")
class ForgivesLongPayloads(MinimalBoard):
    def parse(self, frame: Frame) -> Message | None:
        if frame.type == Stop.TYPE:
            return Stop()
        return super().parse(frame)


@breaks("values_out_of_range", "refusal_changes_nothing")
class TakesAnyPeriod(MinimalBoard):
    def set_scan(self, frame: Frame, message: SetScan) -> None:
        super().set_scan(frame, SetScan(min(message.period_us, 20_000), message.settle_ns))


@breaks("bad_line")
class NamesNoLine(MinimalBoard):
    def refuse(self, frame: Frame, code: Refusal, detail: int = 255) -> None:
        super().refuse(frame, code, 255)


@breaks("refusal_changes_nothing", "state_size")
class KeepsHalfOfWhatItRefuses(MinimalBoard):
    def set_lines(self, frame: Frame, message: SetLines) -> None:
        if self.state != RunState.SCANNING and self.roles is not None and max(message.roles, default=0) > 3:
            self.roles = bytes(min(role, 3) for role in message.roles).ljust(self.lines, b"\0")
        super().set_lines(frame, message)


@breaks("running_refused")
class StopsWhenItRefuses(MinimalBoard):
    def refuse(self, frame: Frame, code: Refusal, detail: int = 255) -> None:
        super().refuse(frame, code, detail)
        if code == Refusal.RUNNING and frame.type == Start.TYPE:
            self.state = RunState.IDLE


@breaks("hello_while_scanning")
class StartsOverAtHello(MinimalBoard):
    def hello(self, frame: Frame, message: Hello) -> None:
        self.flush()
        self.state = RunState.IDLE
        super().hello(frame, message)


@breaks("one_answer")
class AnswersTwice(MinimalBoard):
    def ack(self, frame: Frame) -> None:
        super().ack(frame)
        if frame.type == SetScan.TYPE:
            super().ack(frame)


@breaks("answers_in_time")
class ThinksLong(MinimalBoard):
    def set_scan(self, frame: Frame, message: SetScan) -> None:
        before = len(self.out)
        super().set_scan(frame, message)
        if (
            self.scan_setting == (message.period_us, message.settle_ns)
            and len(self.out) > before
            and message.period_us == 10_000
        ):
            del self.out[before:]
            self.number = (self.number - 1) % 65536
            self.later.append((self.now + 300_000, Ack(frame.number, frame.type, self.clock_at(self.now + 300_000))))


@breaks("refusals_known")
class TalksTooMuch(MinimalBoard):
    def refuse(self, frame: Frame, code: Refusal, detail: int = 255) -> None:
        self.send(Refused(frame.number, frame.type, code, detail, "because of " * 6))
