"""`python -m tests.firmware.watch_table [--seed N]`: what watching catches, by length of the opening.

The real image in the simulated board, 150 pF and 10 kohm, ALIVE every 5 ms; openings at random phases, singly and in bursts of
50.
"""

from __future__ import annotations

import argparse
import random

from tailwise.wire.messages import Alive, Hello, Openings, ScanMode, SetWatch, Start, Watched, WatchPullUp
from tests.simboard.board import SimBoard
from tests.simboard.talk import Talk

LENGTHS_US = (1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 50, 100, 200, 500, 1000, 2000)
SINGLES_EACH = 12
BURST = 50
BURSTS = 16
NEAR_US = 15.0


def planted_openings(chance: random.Random, begin_us: float) -> list[tuple[float, float]]:
    """(begin, length): singles of every length in a random order, then bursts of one length each."""
    singles = [float(length) for length in LENGTHS_US for _ in range(SINGLES_EACH)]
    chance.shuffle(singles)
    planted = []
    at = begin_us
    for length in singles:
        at += chance.uniform(300, 1500)
        planted.append((at, length))
        at += length
    for number in range(BURSTS):
        length = float(LENGTHS_US[number % len(LENGTHS_US)])
        at += 30_000
        for _ in range(BURST):
            at += chance.uniform(20, 60)
            planted.append((at, length))
            at += length
    return planted


def run(seed: int) -> tuple[list[tuple[float, float]], list[tuple[int, int]], Watched]:
    """What was planted, (start, length) of what was told, and the last WATCHED."""
    with SimBoard() as board:
        board.contact(0, 3, 9, 100.0)
        board.run(6000)
        talk = Talk(board)
        talk.ask(Hello(1, 1))
        talk.ask(SetWatch(WatchPullUp.SWITCHED, bytes([3, 9])))
        talk.ask(Start(ScanMode.WATCH))
        planted = planted_openings(random.Random(seed), board.now_us() + 5000)
        for at, length in planted:
            board.contact(at, 3, 9)
            board.contact(at + length, 3, 9, 100.0)
        messages = talk.messages()
        while board.now_us() < planted[-1][0] + 150_000:
            talk.send(Alive.TYPE)
            messages += talk.messages(5000)
    told = [(each.start, each.length) for one in messages if isinstance(one, Openings) for each in one.entries]
    return planted, told, [message for message in messages if isinstance(message, Watched)][-1]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    planted, told, total = run(parser.parse_args().seed)
    ahead = next(at for at, length in planted if length >= 100) - next(start for start, length in told if length >= 98)
    errors: dict[float, list[float | None]] = {float(length): [] for length in LENGTHS_US}
    for at, length in planted:
        found = [told_us for start, told_us in told if abs(start + ahead - at) < NEAR_US]
        errors[length].append(found[0] - length if found else None)
    print("length us  planted  told  error us, least and most")
    for length, each in errors.items():
        seen = [error for error in each if error is not None]
        spread = f"{min(seen):+.0f} {max(seen):+.0f}" if seen else "-"
        print(f"{length:9.0f}  {len(each):7d}  {len(seen):4d}  {spread}")
    sure = [(length, error) for length, each in errors.items() if length >= 5 for error in each if error is not None]
    far = sum(1 for length, error in sure if abs(error) > 2 + length / 100)
    print(f"of {len(sure)} openings of 5 us and more {far} are more than 2 us + 1 % out")
    print(f"counted {total.openings_first} of {len(planted)}, not told one by one {total.dropped}, blind {total.blind} us")


if __name__ == "__main__":
    main()
