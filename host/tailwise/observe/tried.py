"""Which keys were seen, which are silent, which count as untried. Keys that no line reaches count nowhere.

A key is seen by a press that is certain. It is silent if it was never seen and the operator vouches for a press: by
press marks that came to nothing in a clear view, or by stating that every key was pressed, unless a blind stretch long
enough to hide a press lay after the rest check, or nothing was scanned after it. Anything else is untried; so is a key
that only ever read closed inside a rectangle. Keys on one crosspoint are seen together, unless marks name one of them.

A watch of single pairs reads no matrix either, but it was chosen: the hands hold the watched keys and move the film, and no
other key is asked for. So it hides no press that the statement vouches for, as long as the matrix was read long enough,
after the rest check, for a press of every key.
"""

from __future__ import annotations

from itertools import accumulate

from tailwise.model.observation import AttemptResult, Observations
from tailwise.observe.thresholds import HIDES_A_PRESS_US, REST_US
from tailwise.words.judge import BLIND_WATCH


def testable_keys(observations: Observations) -> tuple[str, ...]:
    """Keys that close at least one crosspoint, sorted."""
    return tuple(sorted(key.id for key in observations.layout.keys if key.crosspoints))


def presses_by_key(observations: Observations) -> dict[str, int]:
    """Certain presses of every testable key."""
    counts = dict.fromkeys(testable_keys(observations), 0)
    for press in observations.presses:
        if press.certain and press.key in counts:
            counts[press.key] += 1
    return counts


def silent_keys(observations: Observations) -> tuple[str, ...]:
    """Keys never seen although pressed, sorted."""
    seen = presses_by_key(observations)
    landed = {AttemptResult.SILENT, AttemptResult.ELSEWHERE}
    vouched = {attempt.key for attempt in observations.attempts if attempt.result in landed}
    doubtful = {press.key for press in observations.presses if not press.certain}
    scanned = observations.end_us - REST_US >= HIDES_A_PRESS_US
    stated = observations.every_key_pressed and scanned and not could_hide_a_press(observations)
    return tuple(key for key, count in seen.items() if not count and (key in vouched or (stated and key not in doubtful)))


def could_hide_a_press(observations: Observations) -> bool:
    """Whether a press somewhere after the rest check may have gone unseen, so that 'every key pressed' vouches for nothing."""
    after = [each for each in observations.blind if each.end_us - max(each.start_us, REST_US) >= HIDES_A_PRESS_US]
    if any(each.why != BLIND_WATCH for each in after):
        return True
    chosen = {(each.start_us, each.end_us) for each in after} | {(each.start_us, each.end_us) for each in observations.watches}
    ends = [REST_US, *accumulate((end for _, end in sorted(chosen)), max)]
    unread_us = sum(max(0, end - max(start, before)) for before, (start, end) in zip(ends, sorted(chosen), strict=False))
    if unread_us < HIDES_A_PRESS_US:
        return False
    return observations.end_us - REST_US - unread_us < HIDES_A_PRESS_US * len(testable_keys(observations))


def untried_keys(observations: Observations) -> tuple[str, ...]:
    """Keys neither seen nor silent, sorted."""
    silent = set(silent_keys(observations))
    return tuple(key for key, count in presses_by_key(observations).items() if not count and key not in silent)
