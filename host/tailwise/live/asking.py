"""Commands that wait for their answer: HELLO until IDENTITY, and every other command until ACK or REFUSED."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator

from tailwise.link.base import Link
from tailwise.live.conversation import Conversation, Heard
from tailwise.live.events import LiveEvent
from tailwise.live.trouble import BoardStopped, NoAnswer, Unusable
from tailwise.wire.messages import (
    BOOT_SILENCE_MS,
    PROTOCOL,
    REFUSAL_WORDS,
    REPLY_TIMEOUT_MS,
    Ack,
    Booted,
    Command,
    Hello,
    Identity,
    Refusal,
    Refused,
    Start,
    Stop,
)
from tailwise.words import live as words

STEP_S = 0.02
"""Longest wait for bytes before the run looks at marks and at stop()."""
HELLO_PERIOD_US = 500_000
HANDSHAKE_US = (BOOT_SILENCE_MS + 2000) * 1000
TRIES = 3

Between = Callable[[], Iterator[LiveEvent]]
"""Called before each read: gives events that became due; raises RunOver to end the run."""
Notice = Callable[[Heard], Iterator[LiveEvent]]
"""Called for each frame that is not the awaited answer."""


def handshake(link: Link, talk: Conversation, between: Between) -> Generator[LiveEvent, None, Identity]:
    """HELLO each 500 ms until IDENTITY, through garbage, silence and BOOTED; NoAnswer after `boot_silence_ms` + 2 s."""
    until = link.now_us() + HANDSHAKE_US
    hello_at = link.now_us()
    numbers = set()
    refused: str | None = None
    while (now := link.now_us()) < until:
        if now >= hello_at:
            # After a refusal any version is asked for: HELLO changes nothing, and IDENTITY then tells which side is old.
            numbers.add(talk.say(Hello(PROTOCOL, PROTOCOL) if refused is None else Hello(0, 255)))
            hello_at = now + HELLO_PERIOD_US
        yield from between()
        heard = talk.hear(STEP_S)
        match None if heard is None else heard.message:
            case Identity() as identity if identity.command in numbers:
                return identity
            case Booted():
                hello_at = link.now_us()
            case Refused(command_type=Hello.TYPE, code=Refusal.NO_PROTOCOL, reason=reason):
                if refused is not None:
                    raise Unusable(words.protocol_refused(reason, PROTOCOL))
                refused, hello_at = reason, link.now_us()
            case Refused(command_type=Hello.TYPE) as answer:
                raise Unusable(refused_advice("HELLO", answer))
            case Hello():
                raise Unusable(words.echo_only(link.url))
            case _:
                pass
    raise NoAnswer(words.SILENT_HANDSHAKE, reopen=True)


def ask(link: Link, talk: Conversation, between: Between, notice: Notice, command: Command) -> Generator[LiveEvent, None, Ack]:
    """Send a command, three times in all with a new number each, until its ACK.

    Unusable where it is refused for good, BoardStopped where configuring again may help, NoAnswer after the third time.
    """
    while talk.awaiting:
        yield from between()
        heard = talk.hear(STEP_S)
        if heard is not None:
            if isinstance(heard.message, Booted):
                raise BoardStopped(words.reset_cause(heard.message.cause), booted=True)
            yield from notice(heard)
    numbers = set()
    for _ in range(TRIES):
        numbers.add(talk.say(command))
        until = link.now_us() + REPLY_TIMEOUT_MS * 1000
        while (now := link.now_us()) < until:
            yield from between()
            heard = talk.hear(min(STEP_S, (until - now) / 1e6))
            if heard is None:
                continue
            match heard.message:
                case Ack() as ack if ack.command in numbers and ack.command_type == command.TYPE:
                    return ack
                case Refused() as answer if answer.command in numbers and answer.command_type == command.TYPE:
                    raise _refusal(command, answer)
                case Booted(cause=cause):
                    raise BoardStopped(words.reset_cause(cause), booted=True)
                case _:
                    yield from notice(heard)
    raise NoAnswer(words.commands_unanswered(name_of(command)))


def name_of(command: Command) -> str:
    """The command as PROTOCOL.md writes it."""
    names = {"SetLines": "SET_LINES", "SetScan": "SET_SCAN", "SetWatch": "SET_WATCH"}
    return names.get(type(command).__name__, type(command).__name__.upper())


def refused_advice(name: str, answer: Refused) -> words.Advice:
    """What to tell a person about a refused command."""
    return words.command_refused(name, REFUSAL_WORDS.get(answer.code), answer.code, answer.reason)


def _refusal(command: Command, answer: Refused) -> Exception:
    """RUNNING and NOT_CONFIGURED are cured by STOP and configuring again (a START whose ACK was lost is RUNNING too)."""
    if answer.code == Refusal.RUNNING and not isinstance(command, Stop):
        return BoardStopped(words.STILL_RUNNING)
    if answer.code == Refusal.NOT_CONFIGURED and isinstance(command, Start):
        return BoardStopped(words.FORGOT)
    return Unusable(refused_advice(name_of(command), answer))
