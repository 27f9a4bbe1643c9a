"""Where lessons and learned layouts are kept: in the user's own data folder, nothing ever overwritten by another keyboard."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import count
from pathlib import Path

from tailwise.harness.store import keep_wiring
from tailwise.harness.wiring import Wiring
from tailwise.layoutfile.library import find_layout, shipped_ids
from tailwise.layoutfile.nodes import FileProblems
from tailwise.layoutfile.own import data_folder, own_folder, own_ids
from tailwise.layoutfile.reader import parse_layout
from tailwise.learn.lesson import Lesson, LessonError
from tailwise.learn.merge import Merged, merge
from tailwise.learn.result import Learned, layout_text
from tailwise.model.layout import Layout, RouteStop
from tailwise.words import learnscreens as words

SUFFIX = ".lesson.json"


class NothingLearned(ValueError):
    """No key has been seen, so there is no matrix to write."""


@dataclass(frozen=True)
class Kept:
    """A layout file that was written, as it reads again, and the wiring file kept beside it, if any."""

    layout: Layout
    path: Path
    wiring: Path | None = None


def slug(title: str) -> str:
    """An id made of a title: small letters, digits and single hyphens; `keyboard` where nothing is left."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-") or "keyboard"


def free_id(title: str) -> str:
    """An id that neither a shipped layout nor one of the user's has."""
    taken = {*shipped_ids(), *own_ids()}
    stem = slug(title)
    numbered = (stem if number == 1 else f"{stem}-{number}" for number in count(1))
    return next(each for each in numbered if each not in taken)


def lesson_path(title: str) -> Path:
    """A free file name for a new lesson."""
    folder, stem = data_folder() / "lessons", slug(title)
    for number in count(1):
        path = folder / f"{stem}{'' if number == 1 else f'-{number}'}{SUFFIX}"
        if not path.exists():
            return path
    raise AssertionError("count() ends never")


def open_lessons() -> list[tuple[Path, Lesson]]:
    """Lessons that were begun, newest first; files that are none are left out."""
    found: list[tuple[float, Path, Lesson]] = []
    with suppress(OSError):
        for path in (data_folder() / "lessons").glob(f"*{SUFFIX}"):
            with suppress(OSError, LessonError, ValueError):
                found.append((path.stat().st_mtime, path, Lesson.load(path)))
    return [(path, lesson) for _, path, lesson in sorted(found, key=lambda each: (-each[0], str(each[1])))]


def mergeable(result: Learned) -> list[Layout]:
    """The user's own layouts of the same drawing: other specimens of this keyboard."""
    drawn = {key.id for key in result.keys}
    found = []
    for name in own_ids():
        with suppress(FileProblems, OSError):
            layout = find_layout(name)
            if set(layout.key_by_id) == drawn:
                found.append(layout)
    return found


def filled_from(result: Learned, other: Layout) -> tuple[Learned, Merged]:
    """The result with keys it did not find taken from another specimen; MergeError where the two cannot be tied together."""
    if not result.rows or not result.columns:
        raise NothingLearned(words.NOTHING_LEARNED)
    own = parse_layout(layout_text(result, "this-one", "this one", "film", words.SPECIMEN), "this one")
    both = merge(own, other)
    return result.with_keys(both.keys), both


def keep_layout(
    result: Learned,
    layout_id: str,
    title: str,
    kind: str,
    specimen: str,
    routes: Mapping[str, Sequence[RouteStop]] | None = None,
    board_id: bytes | None = None,
) -> Kept:
    """Write the layout file (again, once routes are known) and keep the wiring for the board it was learned on.

    board_id None keeps no wiring. NothingLearned, FileProblems where the text is no valid layout, OSError.
    """
    if not result.rows or not result.columns:
        raise NothingLearned(words.NOTHING_LEARNED)
    text = layout_text(result, layout_id, title, kind, specimen, routes)
    path = own_folder() / f"{layout_id}.yaml"
    layout = parse_layout(text, str(path))
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(path.name + ".part")
    part.write_text(text, encoding="utf-8")
    part.replace(path)
    whole = set(layout.lines) == set(result.board_line)
    wiring = None
    if board_id is not None and whole:
        wiring = keep_wiring(board_id, layout_id, Wiring(dict(result.board_line)), words.AS_LEARNED)
    return Kept(layout, path, wiring)
