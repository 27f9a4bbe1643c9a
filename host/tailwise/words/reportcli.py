"""What `tailwise report` and the batch of `tailwise judge` say."""

from __future__ import annotations

BEFORE = "an earlier recording of the same keyboard, for a before and after"
PHOTO = "a photo for the page: shrunk, its metadata removed (may be given several times; FILE=CAPTION for a caption)"
MARKDOWN = "also write a text for a sales listing (Markdown)"
TABLE = "also write one line a key (CSV)"
STICKER = "also write a label's text"
JSON_FILE = "also write the findings (JSON)"
RUBRIC = "a shop's own grading rules (YAML)"
PRIORS = "how common each fault is in your shop (YAML, tailwise-priors/1)"
OTHER_LAYOUT = "note: the earlier recording is of another layout; only its findings are compared"
BATCH = "recordings, or folders of them"
BATCH_BAD = "not judged"
CORES = "processes to judge a batch with (default: one a core)"


def summary(kind: str, number: int, whole: int) -> str:
    """One line of a batch's summary."""
    return f"{kind:<12} {number:>6}  {number / whole:6.1%}"


def batch_line(path: str, verdict: str, grade: str, label: str, what: str) -> str:
    """One recording of a batch."""
    return f"{path}  {verdict:<10} {grade:<9} {label + '  ' if label else ''}{what}"


def batch_head(count: int) -> str:
    """Above the summary."""
    return f"{count} recordings"


AFTER = "judge together with an earlier recording of the same keyboard"
BETWEEN = "what was done between the two: reseated (the tail was pulled and put back), past_socket (measured behind the socket)"
AFTER_OTHER = "the two recordings are of different layouts; a pair is two runs of one keyboard"
AFTER_ONE = "--after goes with one recording and with --between"
NOT_TESTED = "{what}"
