"""Both sides know of each other while scanning: ALIVE to the board, and what a silent or stopped board looks like.

ALIVE goes out each 500 ms; without an ACK in 250 ms again with a new number, three times in all, then at the usual pace
(a board that hears nothing stops by itself after 2 s and says so in HEARTBEAT).
"""

from __future__ import annotations

from tailwise.link.base import Link
from tailwise.live.conversation import Conversation, Heard
from tailwise.live.trouble import BoardStopped, NoAnswer
from tailwise.wire.messages import (
    HOST_ALIVE_PERIOD_MS,
    REPLY_TIMEOUT_MS,
    Ack,
    Alive,
    Booted,
    Heartbeat,
    RunState,
    State,
    Watched,
)
from tailwise.words import live as words

SILENCE_US = 1_500_000
"""A board sends STATE, or WATCHED, at least every 50 ms; thirty of them missing is more than a burst of noise."""


class Liveness:
    """One stretch of scanning, from the ACK of START on."""

    def __init__(self, link: Link, talk: Conversation) -> None:
        self._link = link
        self._talk = talk
        self._speak_at = link.now_us() + HOST_ALIVE_PERIOD_MS * 1000
        self._numbers: set[int] = set()
        self._shown = False

    def speak(self) -> None:
        """Send ALIVE where it is due."""
        now = self._link.now_us()
        if now < self._speak_at:
            return
        if len(self._numbers) >= 3:
            self._numbers.clear()
        self._numbers.add(self._talk.say(Alive()))
        self._speak_at = now + (REPLY_TIMEOUT_MS if len(self._numbers) < 3 else HOST_ALIVE_PERIOD_MS) * 1000

    def heard(self, heard: Heard) -> None:
        """A frame while scanning; BoardStopped where the board says that it is not."""
        match heard.message:
            case State() | Watched():
                self._shown = True
            case Ack(command=number, command_type=Alive.TYPE) if number in self._numbers:
                self._numbers.clear()
                self._speak_at = heard.host_us + HOST_ALIVE_PERIOD_MS * 1000
            case Booted(cause=cause):
                raise BoardStopped(words.reset_cause(cause), booted=True)
            case Heartbeat(state=state) if self._shown and state != RunState.SCANNING:
                raise BoardStopped(words.STOPPED_ITSELF if state == RunState.HOST_SILENT else words.BOARD_IDLE)
            case _:
                pass

    def check(self) -> None:
        """Nothing is waiting to be read: NoAnswer where the board has been silent too long."""
        if self._link.now_us() - self._talk.last_good_us > SILENCE_US:
            raise NoAnswer(words.SILENT)
