"""What `tailwise ledger` prints."""

from __future__ import annotations

LEDGER = "the records of keyboards and runs: add, list, show, compare, statistics, CSV, backup"
WHERE = "the ledger's file, or a URL as postgresql://user@host/name (default: the platform's data folder)"
ACTION = "what to do"
ADD = "judge recordings and save them"
ADD_LABEL = "the keyboard's label (default: the one in the recording)"
ADD_STAGE = "what was done before this run: reseated, cleaned, repaired ..."
ADD_CONNECTOR = "count one mating of this harness connector (may be given several times)"
LIST = "keyboards, newest first"
LIST_SEARCH = "looked for in label, owner and notes"
LIST_LAYOUT = "only this layout"
LIST_DONOR = "only donor stock"
SHOW = "one keyboard with its runs, or one run by number"
COMPARE = "two runs side by side: what is gone, new, the same"
SET = "change owner, notes or donor status of a keyboard"
SET_OWNER = "the owner's reference"
SET_NOTES = "free notes"
SET_DONOR = "whether it is kept for parts"
CSV = "every run as CSV"
CSV_OUT = "file to write (default: standard output)"
BACKUP = "a whole copy into a new file"
RESTORE = "fill an empty ledger from a copy"
STATS = "faults by layout and kind, shares by grade"
LOT = "acceptance of a lot by attributes: test N, accept with at most C faulty"
LOT_SAMPLE = "how many the plan tests"
LOT_ALLOWED = "how many faulty ones it allows"
LOT_LAYOUT = "count the keyboards of this layout"
CONNECTORS = "harness connectors and how often a tail went in"
CONNECTORS_NEW = "this connector was replaced: begin its count at 0"
EXTRACT = "write a run's recording to a new file"


def saved(label: str, run: int, verdict: str, grade: str) -> str:
    """A run was saved."""
    return f"{label}: run {run} saved ({verdict}, {grade})"


def keyboard_line(label: str, layout: str, runs: int, verdict: str, grade: str, saved_at: str, donor: bool, owner: str) -> str:
    """One keyboard in the list."""
    tail = f"  owner {owner}" if owner else ""
    return f"{label:<20} {layout:<16} {runs:>3} runs  {verdict:<10} {grade:<9} {saved_at}{'  donor' if donor else ''}{tail}"


def run_line(run: int, saved_at: str, verdict: str, grade: str, stage: str, findings: list[str]) -> str:
    """One run under its keyboard."""
    what = "; ".join(findings) or "no findings"
    return f"  run {run:<5} {saved_at}  {verdict:<10} {grade:<9} {stage + ': ' if stage else ''}{what}"


def change_line(word: str, names: list[str]) -> str:
    """Gone, new or the same."""
    return f"{word:<12} {'; '.join(names) or 'nothing'}"


def key_line(key: str, before: int, after: int, ohm_before: float | None, ohm_after: float | None) -> str:
    """A key that changed."""
    ohms = "" if ohm_before is None and ohm_after is None else f"  {_ohm(ohm_before)} -> {_ohm(ohm_after)}"
    return f"  key {key}: {before} -> {after} presses seen{ohms}"


def _ohm(value: float | None) -> str:
    return "not measured" if value is None else f"{value:.0f} ohm"


NOT_SAME_KEYBOARD = "note: the two runs are of different keyboards"
NOT_SAME_LAYOUT = "note: the two runs have different layouts; only keys of the same id are compared"
EMPTY = "the ledger holds no keyboard that fits"
NO_CONNECTORS = "no connector has been counted yet"


def share(word: str, number: int, whole: int) -> str:
    """A count with its share."""
    return f"  {word:<22} {number:>6}  {number / whole:6.1%}"


def lot_line(tested: int, faulty: int, sample: int, allowed: int, accepted: bool | None, missing: int) -> str:
    """What the plan says of a lot."""
    fate = {True: "accepted", False: "not accepted", None: f"open, {missing} more to test"}[accepted]
    return f"{tested} tested, {faulty} faulty; plan: test {sample}, allow {allowed}: {fate}"


def lot_risks(good: float, bad: float) -> str:
    """What the plan promises."""
    return f"the plan accepts 95 % of lots with {good:.2%} faulty, and 5 % of lots with {bad:.2%}"


def rows_copied(rows: int, path: str) -> str:
    """Backup or restore done."""
    return f"{path}: {rows} rows, whole"
