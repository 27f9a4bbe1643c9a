"""Keys that open and close again sooner than a finger comes back.

Theory. A finger taps at most about seven times a second, down and up alike (common practice), so it leaves some 70 ms between
two taps of one key. A shorter gap is a doubled press or a contact that let go while it was held: one of them tells nothing,
many on one key do. Openings under `RELEASE_US` are inside a press already, and a gap at which a mark says that the key was
pressed anew is the operator's.
"""

from __future__ import annotations

from itertools import pairwise

from tailwise.model.observation import Dropout, Observations, Press
from tailwise.observe.thresholds import EARLY_MARK_US

QUICK_US = 60_000


def quick_returns(observations: Observations) -> tuple[Dropout, ...]:
    """Gaps under `QUICK_US` between two certain presses of one key that no mark and no blindness explains."""
    presses: dict[str, list[Press]] = {}
    for press in observations.presses:
        if press.certain:
            presses.setdefault(press.key, []).append(press)
    asked: dict[str, list[int]] = {}
    for attempt in observations.attempts:
        asked.setdefault(attempt.key, []).append(attempt.start_us)
    found: list[Dropout] = []
    for key, own in presses.items():
        for one, two in pairwise(sorted(own, key=lambda each: each.start_us)):
            if one.end_us is None or not 0 < two.start_us - one.end_us < QUICK_US:
                continue
            start, end = one.end_us, two.start_us
            if any(one.start_us + EARLY_MARK_US < at_us <= end + EARLY_MARK_US for at_us in asked.get(key, ())):
                continue
            if any(blind.start_us < end and blind.end_us > start for blind in observations.blind):
                continue
            found.append(Dropout(start, end, (key,), _held_through(presses, key, start, end)))
    return tuple(sorted(found, key=lambda each: (each.start_us, each.lost)))


def _held_through(presses: dict[str, list[Press]], key: str, start_us: int, end_us: int) -> tuple[str, ...]:
    return tuple(
        sorted(
            other
            for other, own in presses.items()
            if other != key and any(each.start_us < start_us and (each.end_us is None or each.end_us > end_us) for each in own)
        )
    )
