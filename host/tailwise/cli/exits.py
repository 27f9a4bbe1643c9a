"""Exit codes, and the verdicts they stand for."""

from __future__ import annotations

SOUND = 0
FAULTY = 1
CALL = 2
UNPROVEN = 3
UNTESTABLE = 4
INTERRUPTED = 130

OF_VERDICT = {"sound": SOUND, "faulty": FAULTY, "unproven": UNPROVEN, "untestable": UNTESTABLE}
