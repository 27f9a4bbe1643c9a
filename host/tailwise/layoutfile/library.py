"""Layouts by id or path: the shipped ones and the user's own files."""

from __future__ import annotations

from pathlib import Path

from tailwise.layoutfile.nodes import FileProblems, Problem, nearest
from tailwise.layoutfile.own import own_folder, own_ids
from tailwise.layoutfile.reader import read_layout
from tailwise.model.layout import Layout


def shipped_folder() -> Path:
    """The folder of shipped layouts: inside an installed package, or `layouts` of a checkout."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "data" / "layouts"
    return installed if installed.is_dir() else package.parent.parent / "layouts"


def shipped_ids() -> list[str]:
    """Ids of the shipped layouts (their file names without .yaml), sorted."""
    return sorted(path.stem for path in shipped_folder().glob("*.yaml"))


def find_layout(name: str) -> Layout:
    """The layout of an id (a shipped one first, then the user's own) or of a file's path.

    FileProblems where the file has problems or the id is unknown (with the nearest known one).
    """
    if name in shipped_ids():
        return read_layout(shipped_folder() / f"{name}.yaml")
    path = Path(name)
    try:
        if name in own_ids():
            return read_layout(own_folder() / f"{name}.yaml")
        if path.is_file():
            return read_layout(path)
    except OSError as error:
        raise FileProblems([Problem(name, 1, "file", f"cannot be read: {error.strerror or error}")]) from error
    known = [*shipped_ids(), *own_ids()]
    raise FileProblems([Problem(name, 1, "layout", f"neither a known layout nor a file{nearest(name, known)}")])
