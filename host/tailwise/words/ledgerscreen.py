"""Sentences of the ledger in the app: saving, the next keyboard, searching, comparing."""

from __future__ import annotations

from collections.abc import Sequence

TITLE = "ledger"
SEARCH = "search: label, owner, notes"
KEYBOARDS = "keyboards, newest first"
RUNS = "runs"
NOTHING_FITS = "No keyboard fits."
EMPTY = "The ledger is empty: s on the verdict page saves a run."
HINT = "space marks two runs, f5 compares them, enter shows one, f6 writes its report"
TWO_NEEDED = "Mark two runs first (space)."
NO_RUN = "Choose a run first."
NOT_RECORDED = "This run was not recorded, so it can be neither saved nor reported."
SAVING = "Saving in the ledger ..."
WRITING = "Writing the report ..."
LABEL_TITLE = "A run needs a label to be saved: as on the keyboard's tag"
NEXT_TITLE = "The next keyboard"
NEXT_TEXT = "Take this one out, put the next one in, then enter. Same harness, same layout; the label:"
NOT_SAVED_YET = "The run on the screen is not saved yet; escape goes back, s saves it."
DIALOG_HINT = "enter goes on, escape leaves"
SAME_INSERTION = "Counts no insertion when saved: the same as the run before (i changes it)."
ONE_INSERTION = "Counts one insertion of every tail when saved (i changes it)."


def saved(label: str, run: int, verdict: str, grade: str) -> str:
    """A run is in the ledger."""
    return f"Saved: {label}, run {run} ({verdict}{', ' + grade if grade else ''})."


def matings(counted: Sequence[tuple[str, int]]) -> str:
    """How often sockets were used."""
    return "Insertions so far: " + ", ".join(f"{name} {count}" for name, count in counted) + "." if counted else ""


def worn(names: Sequence[str], at: int) -> str:
    """Sockets near the end of their life."""
    return (
        f"{', '.join(names)}: {at} insertions or more. Sockets of this kind last 10 to 30: look at it, replace it soon "
        "(tailwise ledger connectors --new NAME begins its count anew)."
    )


def written(path: str) -> str:
    """The page is there."""
    return f"Report: {path}"


def keyboard_row(label: str, layout: str, runs: int, verdict: str, grade: str, donor: bool) -> str:
    """One keyboard in the list."""
    what = f"{verdict}{', ' + grade if grade else ''}" if verdict else "no run"
    return f"{label}  {what}  {runs}x  {layout}{'  donor' if donor else ''}"


def run_row(marked: bool, run: int, saved_at: str, verdict: str, grade: str, stage: str) -> str:
    """One run in the list."""
    sign = "◆" if marked else " "
    return f"{sign} {run}  {saved_at[:10]} {saved_at[11:16]}  {verdict}{', ' + grade if grade else ''}  {stage}".rstrip()


def run_head(run: int, label: str, tool: str, board: str, fingerprint: str) -> str:
    """The first line of a run."""
    made_with = " on ".join(part for part in (tool, board) if part)
    return f"Run {run} of {label}, {made_with}, recording {fingerprint[:12]}"


def finding(kind: str, about: str, sure: str) -> str:
    """One finding of a run."""
    return f"· {kind.replace('_', ' ')}: {about} ({sure})"


NO_FINDINGS = "no findings"


def compared(before: int, after: int) -> str:
    """Head of a comparison."""
    return f"Run {before} before, run {after} after"


def change(word: str, names: Sequence[str]) -> str:
    """Gone, new, the same."""
    return f"{word:<12} {'; '.join(names) or 'nothing'}"


GONE, NEW, SAME = "gone", "new", "still there"
NOT_SAME_KEYBOARD = "The two runs are of different keyboards."
NOT_SAME_LAYOUT = "The two runs have different layouts; only keys of the same id are compared."


def key_changed(key: str, before: int, after: int, ohm_before: float | None, ohm_after: float | None) -> str:
    """A key that changed."""
    text = f"key {key}: {before} presses seen, then {after}"
    if ohm_before is None and ohm_after is None:
        return text
    shown = [f"{ohm:.0f} ohm" if ohm is not None else "not measured" for ohm in (ohm_before, ohm_after)]
    return f"{text}; {shown[0]}, then {shown[1]}"


def owner_line(owner: str, notes: str) -> str:
    """What is written about a keyboard."""
    return "   ".join(part for part in (f"owner {owner}" if owner else "", notes) if part)
