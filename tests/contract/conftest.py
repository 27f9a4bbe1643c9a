"""Three kinds of board behind one interface: the practice bench, a replay, the simulated board with the real image."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing

import pytest

from tailwise.link.base import Link
from tailwise.link.replay import ReplayLink
from tailwise.practice.bench import Bench, BenchLink, Setup
from tailwise.practice.operator import Press, Still
from tailwise.recording.format import Ended, Header, Recording
from tests.contract.host import Recorder
from tests.contract.scripted import Script, ScriptedBoard, pressed
from tests.live.helpers import LAYOUT

Body = Callable[[Link], None]
Conduct = Callable[[Body], None]
KEYS = ("Q", "SPACE")
"""What is pressed, one after the other, in every contract run after the rest check."""
END_S = 12


def practice() -> Link:
    """The practice bench; bounce and all."""
    return BenchLink(Bench(Setup(LAYOUT, script=(Press(KEYS), Still(END_S)))))


def simulated() -> Link:
    """The real image in the simulated board."""
    joins = tuple(pressed(LAYOUT, key, 2_300_000 + 300_000 * at, 2_400_000 + 300_000 * at) for at, key in enumerate(KEYS))
    return ScriptedBoard(LAYOUT, Script(joins, END_S * 1_000_000))


def _direct(open_it: Callable[[], Link]) -> Conduct:
    def conduct(body: Body) -> None:
        with closing(open_it()) as link:
            body(link)

    return conduct


def _replayed(body: Body) -> None:
    with closing(Recorder(practice())) as recorder:
        body(recorder)
        records = (*recorder.records, Ended(recorder.now_us() + 1))
    body(ReplayLink(Recording(Header(LAYOUT.id, LAYOUT.text), records)))


BOARDS = {"practice": _direct(practice), "simulated-board": _direct(simulated), "replay": _replayed}


@pytest.fixture(params=BOARDS)
def conduct(request: pytest.FixtureRequest) -> Conduct:
    """Runs a test's body on one kind of board."""
    return BOARDS[request.param]
