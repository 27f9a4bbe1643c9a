"""Boards that get damaged bytes wrong."""

from __future__ import annotations

from tailwise.wire.frames import Frame, FrameError, cobs_decode, crc16, decode_frame
from tailwise.wire.messages import RunState
from tests.conformance.minimal_board import MinimalBoard
from tests.conformance.mutant import breaks


@breaks("bad_crc", "noise_is_silence", "one_answer")
class ChecksNoCrc(MinimalBoard):
    def decode(self, stuffed: bytes) -> Frame:
        try:
            return super().decode(stuffed)
        except FrameError as error:
            if error.rule != "wrong CRC":
                raise
            plain = cobs_decode(stuffed)
            return Frame(plain[1], plain[2] | plain[3] << 8, plain[4:-2])


@breaks("bad_length", "one_answer")
class ChecksNoLength(MinimalBoard):
    def decode(self, stuffed: bytes) -> Frame:
        try:
            return super().decode(stuffed)
        except FrameError as error:
            plain = cobs_decode(stuffed)
            if not error.rule.startswith("length") or crc16(plain[:-2]) != plain[-2] | plain[-1] << 8:
                raise
            return Frame(plain[1], plain[2] | plain[3] << 8, plain[4:-2])


@breaks("short_frames")
class CountsNoShortFrames(MinimalBoard):
    def bad(self, error: FrameError) -> None:
        if not error.rule.startswith("shorter"):
            super().bad(error)


@breaks("oversize")
class CountsEveryOverflow(MinimalBoard):
    def collect(self, byte: int) -> None:
        super().collect(byte)
        if len(self.collected) > self.max_command_bytes + 1:
            self.collected.clear()
            self.bad_frames += 1


@breaks("half_frames", "bad_crc", "bad_length", "oversize", "short_frames", "longest_command")
class CountsNothing(MinimalBoard):
    def bad(self, error: FrameError) -> None:
        """Do not count."""


@breaks("half_then_whole", spreads=True)
class SkipsTwoAfterABadOne(MinimalBoard):
    skipping = 0

    def bad(self, error: FrameError) -> None:
        super().bad(error)
        self.skipping = 2

    def handle(self, frame: Frame) -> None:
        if self.skipping:
            self.skipping -= 1
        else:
            super().handle(frame)


@breaks("garbage")
class StopsAtGarbage(MinimalBoard):
    def bad(self, error: FrameError) -> None:
        super().bad(error)
        if self.state == RunState.SCANNING:
            self.flush()
            self.state = RunState.IDLE


@breaks("zeros", "bad_crc", "bad_length", "half_frames", "oversize", "short_frames", "longest_command")
class CountsSilence(MinimalBoard):
    def end_of_frame(self) -> None:
        if not self.collected:
            self.bad_frames += 1
        super().end_of_frame()


@breaks("longest_command", "one_answer")
class IsOneByteShort(MinimalBoard):
    def decode(self, stuffed: bytes) -> Frame:
        if len(stuffed) > self.max_command_bytes:
            raise FrameError("longer than any command", stuffed)
        return decode_frame(stuffed)
