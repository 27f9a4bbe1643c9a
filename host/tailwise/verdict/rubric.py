"""Grades by rubric: a table of rules in YAML, read from the top; the first rule that applies decides.

A grade is about function, never about looks. The same facts and the same rubric give the same grade.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import yaml

from tailwise.layoutfile.nodes import FileProblems, Mapping, Problem, Problems, as_number, compose, nearest, words
from tailwise.model.fault import FaultKind, Steadiness

FORMAT = "tailwise-rubric/1"
VERDICTS = ("sound", "faulty", "unproven", "untestable")


@dataclass(frozen=True, slots=True)
class GradeFacts:
    """What a rule may ask. worst_margin: smallest ratio of allowed to measured loop resistance, None: not measured."""

    verdict: str
    kinds: frozenset[str]
    steadiness: frozenset[str]
    untried: int
    least_presses: int
    miss_bound_95: float
    worst_bounce_ms: float
    dropouts: int
    flexed_s: float
    worst_margin: float | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """One line of the rubric; None means the rule does not ask."""

    grade: str
    because: str
    to_raise: str
    verdict: frozenset[str] | None = None
    kinds: frozenset[str] | None = None
    steadiness: frozenset[str] | None = None
    untried_above: float | None = None
    presses_below: float | None = None
    miss_bound_above: float | None = None
    bounce_above_ms: float | None = None
    dropouts_above: float | None = None
    flexed_below_s: float | None = None
    margin_below: float | None = None
    unmeasured: bool | None = None

    def applies(self, facts: GradeFacts) -> bool:
        """Whether every condition holds."""
        return all(
            (
                self.verdict is None or facts.verdict in self.verdict,
                self.kinds is None or bool(facts.kinds & self.kinds),
                self.steadiness is None or bool(facts.steadiness & self.steadiness),
                self.untried_above is None or facts.untried > self.untried_above,
                self.presses_below is None or facts.least_presses < self.presses_below,
                self.miss_bound_above is None or facts.miss_bound_95 > self.miss_bound_above,
                self.bounce_above_ms is None or facts.worst_bounce_ms > self.bounce_above_ms,
                self.dropouts_above is None or facts.dropouts > self.dropouts_above,
                self.flexed_below_s is None or facts.flexed_s < self.flexed_below_s,
                self.margin_below is None or (facts.worst_margin is not None and facts.worst_margin < self.margin_below),
                self.unmeasured is None or (facts.worst_margin is None) == self.unmeasured,
            )
        )

    @property
    def unconditional(self) -> bool:
        """Whether it always applies."""
        return all(getattr(self, name) is None for name in CONDITIONS)


CONDITIONS = tuple(name for name in Rule.__dataclass_fields__ if name not in ("grade", "because", "to_raise"))
NUMBERS = {
    "untried_above": 1e6, "presses_below": 1e6, "miss_bound_above": 1, "bounce_above_ms": 1e6, "dropouts_above": 1e9,
    "flexed_below_s": 1e6, "margin_below": 1e6,
}  # fmt: skip
SETS = {
    "verdict": VERDICTS,
    "kinds": tuple(kind.value for kind in FaultKind),
    "steadiness": tuple(each.value for each in Steadiness),
}


@dataclass(frozen=True, slots=True)
class Grade:
    """A grade, the number of the rule that gave it (1 is the first), why, and what would raise it."""

    name: str
    rule: int
    because: str
    to_raise: str


@dataclass(frozen=True, slots=True)
class Rubric:
    """A checked rubric: grades best first, rules in order."""

    grades: tuple[str, ...]
    rules: tuple[Rule, ...]

    def grade(self, facts: GradeFacts) -> Grade:
        """The grade of these facts; the last rule has no condition, so there always is one."""
        number, rule = next((number, rule) for number, rule in enumerate(self.rules, start=1) if rule.applies(facts))
        return Grade(rule.grade, number, rule.because, rule.to_raise)


@cache
def shipped_rubric() -> Rubric:
    """The rubric that comes with tailwise."""
    return read_rubric(Path(__file__).with_name("rubric.yaml"))


def read_rubric(path: Path) -> Rubric:
    """A rubric from a file; FileProblems with file, line and key for everything wrong in it."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise FileProblems([Problem(str(path), 1, "file", f"not UTF-8 text: {error.reason}")]) from error
    except OSError as error:
        raise FileProblems([Problem(str(path), 1, "file", f"cannot be read: {error.strerror or error}")]) from error
    return parse_rubric(text, str(path))


def parse_rubric(text: str, file: str) -> Rubric:
    """A rubric from a text; `file` is what problems call it."""
    problems = Problems(file)
    top = Mapping(compose(text, file), problems, "", ("format", "grades", "rules"))
    if top.text("format", required=True) not in (FORMAT, None):
        problems.add(top.get("format"), "format", f"expected {FORMAT}")
    grades = tuple(name for name, _ in top.texts("grades", required=True))
    rules = [_rule(node, index, grades, problems) for index, node in enumerate(top.sequence("rules", required=True))]
    nodes = top.sequence("rules")
    for index, rule in enumerate(rules[:-1]):
        if rule.unconditional:
            problems.add(
                nodes[index], f"rules[{index}].when", "only the last rule may go without a condition: no later one can apply"
            )
    if rules and not rules[-1].unconditional:
        problems.add(
            nodes[-1],
            f"rules[{len(rules) - 1}].when",
            "the last rule must have no condition, so that every keyboard has a grade",
        )
    if not rules and "rules" in top.items:
        problems.add(top.get("rules"), "rules", "name at least one rule")
    if problems.found:
        raise FileProblems(sorted(problems.found, key=lambda each: each.line))
    return Rubric(grades, tuple(rules))


def _rule(node: yaml.Node, index: int, grades: tuple[str, ...], problems: Problems) -> Rule:
    where = f"rules[{index}]"
    item = Mapping(node, problems, where, ("grade", "when", "because", "to_raise"))
    grade = item.text("grade", required=True) or ""
    if grade and grade not in grades:
        problems.add(item.get("grade"), f"{where}.grade", f"unknown grade {grade}{nearest(grade, grades)}")
    because = item.text("because", required=True) or ""
    to_raise = item.text("to_raise", required=True) or ""
    when_node = item.get("when")
    if when_node is None:
        return Rule(grade, because, to_raise)
    when = Mapping(when_node, problems, f"{where}.when", CONDITIONS)
    numbers: dict[str, float | None] = {}
    for name, high in NUMBERS.items():
        value_node = when.get(name)
        numbers[name] = None if value_node is None else as_number(value_node, problems, when.path(name), 0, high)
    sets: dict[str, frozenset[str] | None] = {}
    for name, valid in SETS.items():
        sets[name] = _names(when, name, valid)
    unmeasured_node = when.get("unmeasured")
    unmeasured = None if unmeasured_node is None else when.flag("unmeasured", False)
    return Rule(grade, because, to_raise, **sets, **numbers, unmeasured=unmeasured)  # type: ignore[arg-type]


def _names(when: Mapping, name: str, valid: tuple[str, ...]) -> frozenset[str] | None:
    node = when.get(name)
    if node is None:
        return None
    given = [(words(node) or "", node)] if isinstance(node, yaml.ScalarNode) else when.texts(name)
    for value, at in given:
        if value not in valid:
            when.problems.add(at, when.path(name), f"unknown name {value}{nearest(value, valid)}")
    return frozenset(value for value, _ in given)
