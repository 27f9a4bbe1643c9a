"""Which keys were seen, which are silent, which count as untried. Keys that no line reaches count nowhere.

A key is seen by a press that is certain. It is silent if it was never seen and the operator vouches for a press: by
press marks that came to nothing in a clear view, or by stating that every key was pressed, unless a blind stretch long
enough to hide a press lay after the rest check, or nothing was scanned after it. Anything else is untried; so is a key
that only ever read closed inside a rectangle. Keys on one crosspoint are seen together, unless marks name one of them.
"""

from __future__ import annotations

from tailwise.model.observation import AttemptResult, Observations
from tailwise.observe.thresholds import HIDES_A_PRESS_US, REST_US


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
    hidden = any(
        each.end_us - max(each.start_us, REST_US) >= HIDES_A_PRESS_US for each in observations.blind if each.end_us > REST_US
    )
    watched = observations.end_us - REST_US >= HIDES_A_PRESS_US
    stated = observations.every_key_pressed and watched and not hidden
    return tuple(key for key, count in seen.items() if not count and (key in vouched or (stated and key not in doubtful)))


def untried_keys(observations: Observations) -> tuple[str, ...]:
    """Keys neither seen nor silent, sorted."""
    silent = set(silent_keys(observations))
    return tuple(key for key, count in presses_by_key(observations).items() if not count and key not in silent)
