"""Flexing as the real image sees it: the reference firmware in the simulated board, openings planted to the cycle.

Four parts: openings of one watched pair one by one (flex_image_table), counts on a full link and beyond what the board can take
(flex_image_counts), the whole matrix (flex_image_matrix), and nothing invented on a sound membrane (flex_image_quiet). What a
simulated board cannot show: real thresholds, the spread of pull-ups, the feel of film.
"""

from __future__ import annotations

import random

from tests.bench.common import Outcome
from tests.bench.flex_image_counts import counts
from tests.bench.flex_image_matrix import matrix
from tests.bench.flex_image_quiet import quiet
from tests.bench.flex_image_table import table

MINUTES = 0.2
"""Simulated minutes of the sound membrane unless told otherwise; 10 for the bar."""


def bench(runs: int, seed: int, minutes: float = MINUTES) -> Outcome:
    """runs: openings of each class. minutes: of the sound membrane, simulated."""
    outcome = Outcome()
    parts = (
        table(random.Random(f"{seed} table"), runs),
        counts(random.Random(f"{seed} counts"), runs),
        matrix(random.Random(f"{seed} matrix"), runs),
        quiet(random.Random(f"{seed} quiet"), minutes),
    )
    for bars, lines in parts:
        outcome.bars += bars
        outcome.table += lines
    return outcome
