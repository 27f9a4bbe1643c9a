from __future__ import annotations

from textual.message import Message

from tailwise.live.events import Progress, Started
from tailwise.tui.feed import Looked, RunFeed, Told
from tests.tui.scripted import ScriptedRun


def test_while_one_look_is_on_its_way_newer_ones_replace_it_and_nothing_else_is_lost() -> None:
    run = ScriptedRun()
    posted: list[Message] = []
    feed = RunFeed(run, posted.append)
    run.tell(Started(0))
    for _ in range(100):
        run.look()
    run.tell(Started(9, again=True))
    run.finish()
    feed.work()
    assert [type(message) for message in posted] == [Told, Looked, Told, Told]
    newest = feed.newest()
    assert isinstance(newest, Progress)
    assert newest.run_us == run.at_us
    assert feed.newest() is None


def test_after_a_look_was_taken_the_next_one_is_told() -> None:
    run = ScriptedRun()
    posted: list[Message] = []
    taken: list[Progress | None] = []

    def post(message: Message) -> None:
        posted.append(message)
        if isinstance(message, Looked):
            taken.append(feed.newest())

    feed = RunFeed(run, post)
    run.look()
    run.look()
    run.finish()
    feed.work()
    assert [type(message) for message in posted] == [Looked, Looked, Told]
    assert [look.run_us for look in taken if look is not None] == [50_000, 100_000]
