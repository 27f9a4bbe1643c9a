"""What holds for every membrane: names do not matter, more evidence never loses the truth, same in gives same out."""

from __future__ import annotations

import random
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from tailwise.diagnose.engine import diagnose
from tailwise.model.fault import Fault
from tailwise.model.finding import Finding
from tailwise.model.layout import Key, Layout, RouteStop, Tail
from tailwise.model.observation import Attempt, Dropout, Observations, Press
from tests.diagnose.worlds import Script, World, demo

SLOW = settings(max_examples=40, deadline=None)
FAULTS = st.lists(st.tuples(st.sampled_from(("cut", "broken", "dead")), st.integers(0, 10_000)), max_size=2)


def _plant(world: World, faults: list[tuple[str, int]]) -> World:
    layout = world.layout
    for what, number in faults:
        line = layout.lines[number % len(layout.lines)]
        if what == "cut":
            world.cut.add(line)
        elif what == "dead":
            world.dead.add(layout.keys[number % len(layout.keys)].id)
        else:
            stops = (layout.routes or {})[line]
            world.broken.add((line, stops[number % len(stops)].key))
    return world


def _script(name: str, faults: list[tuple[str, int]], drops: list[int]) -> Script:
    script = Script(_plant(demo(name), faults)).walk()
    working = [key.id for key in script.world.layout.keys if script.world.closes(key.id)]
    for number in drops:
        if working:
            script.drop((working[number % len(working)],))
    return script


@SLOW
@given(FAULTS, st.lists(st.integers(0, 1000), max_size=4), st.sampled_from(("demo-7x6", "demo-8x8")))
def test_same_in_same_out(faults: list[tuple[str, int]], drops: list[int], name: str) -> None:
    one = diagnose(_script(name, faults, drops).observations())
    other = diagnose(_script(name, faults, drops).observations())
    assert repr(one).encode() == repr(other).encode()


@SLOW
@given(FAULTS, st.lists(st.integers(0, 1000), max_size=4))
def test_probabilities_share_one(faults: list[tuple[str, int]], drops: list[int]) -> None:
    for finding in diagnose(_script("demo-7x6", faults, drops).observations()):
        assert finding.probability > 0
        assert round(finding.probability + sum(rival.probability for rival in finding.rivals), 6) <= 1
        assert finding.evidence
        assert finding.next_step
        assert [rival.probability for rival in finding.rivals] == sorted(
            (rival.probability for rival in finding.rivals), reverse=True
        )


@SLOW
@given(FAULTS, st.lists(st.integers(0, 1000), max_size=4), st.randoms(use_true_random=False))
def test_relabelling_changes_only_names(faults: list[tuple[str, int]], drops: list[int], chance: random.Random) -> None:
    observations = _script("demo-7x6", faults, drops).observations()
    names = _shuffled([*observations.layout.lines], chance) | _shuffled([key.id for key in observations.layout.keys], chance)
    plain = {_neutral(finding, names) for finding in diagnose(observations)}
    relabelled = {_neutral(finding, {}) for finding in diagnose(_relabelled(observations, names))}
    assert plain == relabelled


@SLOW
@given(FAULTS, st.integers(0, 10_000), st.integers(0, 6))
def test_a_consistent_observation_never_loses_the_truth(faults: list[tuple[str, int]], number: int, more: int) -> None:
    script = Script(_plant(demo(), faults)).walk()
    before = diagnose(script.observations())
    for step in range(more):
        script.press(script.world.layout.keys[(number * (step + 1)) % len(script.world.layout.keys)].id)
    after = diagnose(script.observations())
    assert {_accusable(each) for each in before} == {_accusable(each) for each in after}


def _accusable(finding: Finding) -> frozenset[Fault]:
    """A finding and those of its rivals that are not far-fetched."""
    return frozenset({finding.fault, *(rival.fault for rival in finding.rivals if rival.probability >= 0.02)})


def _shuffled(names: list[str], chance: random.Random) -> dict[str, str]:
    """Each name gets a new one, so that the order of names changes too."""
    numbers = list(range(len(names)))
    chance.shuffle(numbers)
    return {name: f"{names[0][0]}n{number:03d}" for name, number in zip(names, numbers, strict=True)}


def _neutral(finding: Finding, names: dict[str, str]) -> tuple[object, ...]:
    """A finding without the order that names give, its names replaced."""
    rivals = frozenset((_fault(rival.fault, names), rival.probability) for rival in finding.rivals if rival.probability > 0.01)
    return (_fault(finding.fault, names), finding.probability, rivals, finding.distance_mm, finding.zone)


def _fault(fault: Fault, names: dict[str, str]) -> tuple[object, ...]:
    place = fault.place
    where = None if place is None else (_new(place.line, names), _new(place.after, names), _new(place.before, names))
    lines = frozenset(_new(line, names) for line in fault.lines)
    return (fault.kind, lines, frozenset(_new(key, names) for key in fault.keys), where, fault.steadiness)


def _new(name: str | None, names: dict[str, str]) -> str | None:
    return None if name is None else names.get(name, name)


def _relabelled(observations: Observations, names: dict[str, str]) -> Observations:
    return replace(
        observations,
        layout=_layout(observations.layout, names),
        presses=tuple(_press(press, names) for press in observations.presses),
        attempts=tuple(_attempt(attempt, names) for attempt in observations.attempts),
        dropouts=tuple(_dropout(dropout, names) for dropout in observations.dropouts),
        closures={(names[one], names[two]): count for (one, two), count in observations.closures.items()},
    )


def _press(press: Press, names: dict[str, str]) -> Press:
    return replace(press, key=names[press.key])


def _attempt(attempt: Attempt, names: dict[str, str]) -> Attempt:
    return replace(attempt, key=names[attempt.key])


def _dropout(dropout: Dropout, names: dict[str, str]) -> Dropout:
    return replace(
        dropout,
        lost=tuple(sorted(names[key] for key in dropout.lost)),
        kept=tuple(sorted(names[key] for key in dropout.kept)),
    )


def _layout(layout: Layout, names: dict[str, str]) -> Layout:
    def line(name: str | None) -> str | None:
        return None if name is None else names[name]

    def key(each: Key) -> Key:
        return replace(each, id=names[each.id], row=line(each.row), column=line(each.column))

    def stop(each: RouteStop) -> RouteStop:
        return replace(each, key=names[each.key], origin=line(each.origin))

    return replace(
        layout,
        rows=tuple(names[each] for each in layout.rows),
        columns=tuple(names[each] for each in layout.columns),
        keys=tuple(key(each) for each in layout.keys),
        tails=tuple(Tail(tail.name, tuple(line(each) for each in tail.contacts)) for tail in layout.tails or ()),
        routes={names[each]: tuple(stop(one) for one in stops) for each, stops in (layout.routes or {}).items()},
    )
