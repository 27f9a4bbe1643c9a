"""The live picture while pairs of lines are watched without pause, and the shortest opening either mode cannot miss.

Theory. A matrix scan reads a pair once a scan, so it misses nothing longer than its worst scan and the 20 us it may take to
settle. A watch misses nothing longer than its polling and the time the line takes to rise: R * C * ln(Vcc / (Vcc - V_th)),
0.92 R C to 0.6 of the supply; with 150 pF 1.4 us on the switched 10 kohm and 6.9 us on an input's own 50 kohm.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from tailwise.model.layout import Layout
from tailwise.observe.snapshot import KeyPicture, KeyState, Snapshot, WatchPicture
from tailwise.observe.watching import Watch, WatchLog

MATRIX_SETTLE_US = 20
RISE_US = {True: 1.4, False: 6.9}
"""On the switched pull-up, and on the input's own: see above."""


def shortest_in_matrix_us(worst_scan_us: int) -> float:
    """The shortest opening a matrix scan cannot miss, microseconds."""
    return float(worst_scan_us + MATRIX_SETTLE_US)


def shortest_in_watch_us(shortest_ns: int, switched: bool) -> float:
    """The shortest opening a watch cannot miss, microseconds."""
    return shortest_ns / 1000 + RISE_US[switched]


def with_watch(shown: Snapshot, layout: Layout, log: WatchLog, scan_us: int) -> Snapshot:
    """The picture with what the watches showed: openings by key, and the keys of the watched pairs while a watch runs."""
    if not log.watches:
        return replace(shown, shortest_us=shortest_in_matrix_us(scan_us))
    opened = Counter[str]()
    for watch in log.watches:
        for pair, key in enumerate(watch.keys):
            if key is not None and watch.counts:
                opened[key] += watch.short[pair] + max(0, watch.counts[-1].openings[pair] - len(watch.openings[pair]))
    keys = {
        key: replace(picture, drops=picture.drops + opened[key]) if key in opened else picture
        for key, picture in shown.keys.items()
    }
    flickers = dict(shown.flickers)
    for key, count in opened.items():
        for line in {line for point in layout.key_by_id[key].crosspoints for line in point}:
            flickers[line] += count
    now = log.now
    if now is None:
        return replace(shown, keys=keys, flickers=flickers, shortest_us=shortest_in_matrix_us(scan_us))
    newest = now.counts[-1] if now.counts else None
    bits = newest.closed if newest is not None else 0
    watched = {key: bool(bits >> pair & 1) for pair, key in enumerate(now.keys) if key is not None}
    keys = {key: _state(picture, watched.get(key)) for key, picture in keys.items()}
    shortest = shortest_in_watch_us(newest.shortest_ns if newest is not None else 0, now.switched)
    return replace(shown, keys=keys, flickers=flickers, joined=(), shortest_us=shortest, watch=_picture(now))


def _state(picture: KeyPicture, closed: bool | None) -> KeyPicture:
    """Keys that are not watched are not known: they are shown as they were tried."""
    if closed:
        return replace(picture, state=KeyState.CLOSED)
    if picture.state in (KeyState.CLOSED, KeyState.UNKNOWN):
        return replace(picture, state=KeyState.SEEN if picture.presses else KeyState.NEVER)
    return picture


def _picture(watch: Watch) -> WatchPicture:
    newest = watch.counts[-1] if watch.counts else None
    return WatchPicture(
        watch.pairs,
        tuple(bool(newest is not None and newest.closed >> pair & 1) for pair in range(len(watch.pairs))),
        newest.openings if newest is not None else (0, 0),
        newest.blind_us if newest is not None else 0,
        newest.dropped if newest is not None else 0,
        tuple((watch.keys[pair] or "", one.start_us, one.length_us) for pair, one in watch.newest),
        watch.together,
    )
