"""The built-in scenarios."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tailwise.layoutfile.nodes import FileProblems, Problem, nearest
from tailwise.practice.scenario import Scenario
from tailwise.practice.scenario_reader import read_scenario

DEFAULT_SCENARIO = "coming-and-going-column"
"""What `tailwise try` opens when no scenario is named."""


def scenario_folder() -> Path:
    """The folder of the built-in scenarios."""
    return Path(__file__).resolve().parent / "scenarios"


def scenario_names() -> list[str]:
    """Names of the built-in scenarios, sorted."""
    return sorted(path.stem for path in scenario_folder().glob("*.yaml"))


def find_scenario(name: str) -> Scenario:
    """The scenario of a name or of a file's path.

    FileProblems where the file has problems or the name is unknown (with the nearest known one).
    """
    if name in scenario_names():
        return read_scenario(scenario_folder() / f"{name}.yaml")
    path = Path(name)
    try:
        if path.is_file():
            return read_scenario(path)
    except OSError as error:
        raise FileProblems([Problem(name, 1, "file", f"cannot be read: {error.strerror or error}")]) from error
    close = nearest(name, scenario_names()) or ", see the list of scenarios"
    raise FileProblems([Problem(name, 1, "scenario", f"neither a built-in scenario nor a file{close}")])


def list_scenarios() -> list[dict[str, Any]]:
    """Every built-in scenario as name, layout, story and expected findings."""
    return [find_scenario(name).to_json() for name in scenario_names()]
