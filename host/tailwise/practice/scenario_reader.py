"""Scenario files (tailwise-scenario/1) into `Scenario`, with every problem of the file in one pass."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from tailwise.layoutfile.library import find_layout, shipped_ids
from tailwise.layoutfile.nodes import FileProblems, Mapping, Problem, Problems, compose, words
from tailwise.model.layout import Layout
from tailwise.model.mark import Deed
from tailwise.practice.boardkind import board_for
from tailwise.practice.noise import Noise
from tailwise.practice.operator import Habits
from tailwise.practice.scenario import FORMAT, Scenario
from tailwise.practice.scenario_faults import read_expected, read_faults
from tailwise.practice.scenario_steps import read_script
from tailwise.practice.virtual import Setup

TOP = (
    "format", "name", "layout", "story", "faults", "real_layout", "inserted", "operator", "habits", "marks", "noise", "seed",
    "expect",
)  # fmt: skip


def read_scenario(path: Path) -> Scenario:
    """The scenario in a file; FileProblems where it cannot be used, OSError where it cannot be read."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise FileProblems([Problem(str(path), 1, "file", f"not UTF-8 text: {error.reason}")]) from error
    return parse_scenario(text, str(path))


def parse_scenario(text: str, file: str) -> Scenario:
    """The scenario in a text; `file` is what problems call it."""
    problems = Problems(file)
    top = Mapping(compose(text, file), problems, "", TOP)
    if top.text("format", required=True) not in (FORMAT, None):
        problems.add(top.get("format"), "format", f"expected {FORMAT}")
    layout = _layout(top, "layout", required=True)
    if layout is None:
        raise FileProblems(sorted(problems.found, key=lambda each: each.line))
    really = _layout(top, "real_layout")
    seed = top.number("seed", low=0, high=2**53)
    scenario = Scenario(
        name=top.text("name", required=True) or "",
        story=" ".join((top.text("story", required=True) or "").split()),
        setup=Setup(
            layout=layout,
            script=read_script(top, layout),
            planted=read_faults(top, really or layout),
            seed=1 if seed is None else int(seed),
            real_layout=really,
            inserted=top.flag("inserted", True),
            habits=_habits(top),
            marking=_marking(top),
            noise=_noise(top),
            board=board_for(max(len(layout.lines), len(really.lines) if really else 0)),
        ),
        expect=read_expected(top, layout),
    )
    if problems.found:
        raise FileProblems(sorted(problems.found, key=lambda each: each.line))
    return scenario


def _layout(top: Mapping, name: str, *, required: bool = False) -> Layout | None:
    wanted = top.text(name, required=required)
    if not wanted:
        return None
    beside = Path(top.problems.file).parent / wanted
    try:
        if wanted in shipped_ids():
            return _shipped(wanted)
        return find_layout(str(beside) if beside.suffix == ".yaml" and beside.is_file() else wanted)
    except FileProblems as error:
        for problem in error.problems:
            top.problems.add(top.get(name), name, problem.text if problem.file == wanted else str(problem))
        return None


@lru_cache(maxsize=64)
def _shipped(name: str) -> Layout:
    """Shipped layouts do not change while the program runs, and many scenarios share one."""
    return find_layout(name)


def _marking(top: Mapping) -> frozenset[Deed]:
    node = top.get("marks")
    if node is None:
        return frozenset()
    word = words(node)
    if word in ("all", "none"):
        return frozenset(Deed) if word == "all" else frozenset()
    chosen: set[Deed] = set()
    for text, item in top.texts("marks"):
        try:
            chosen.add(Deed(text))
        except ValueError:
            top.problems.add(item, "marks", f"{text} is none of {', '.join(Deed)}")
    return frozenset(chosen)


def _chances(top: Mapping, name: str, fields: tuple[str, ...]) -> dict[str, float]:
    node = top.get(name)
    if node is None:
        return {}
    item = Mapping(node, top.problems, name, fields)
    found = {field: item.number(field, low=0, high=1 if field != "garbage_bytes" else 200) for field in fields}
    return {field: value for field, value in found.items() if value is not None}


def _habits(top: Mapping) -> Habits:
    return Habits(**_chances(top, "habits", ("miss", "double", "slip", "overlap", "lifts_per_s")))


def _noise(top: Mapping) -> Noise:
    chances = _chances(top, "noise", ("lost", "damaged", "doubled", "garbage_bytes"))
    return Noise(
        lost=chances.get("lost", 0.0),
        damaged=chances.get("damaged", 0.0),
        doubled=chances.get("doubled", 0.0),
        garbage_bytes=int(chances.get("garbage_bytes", 0)),
    )
