"""The benchmark on the real image: its matching, and a short run of each cheap part."""

from __future__ import annotations

import random

from tests.bench.flex_image_board import Opening
from tests.bench.flex_image_matrix import matrix
from tests.bench.flex_image_quiet import Contact, quiet
from tests.bench.flex_image_table import Class, matched, tried


def test_told_openings_are_matched_by_their_beginning_and_others_are_invented() -> None:
    planted = [Opening(0, 100.0, 5.0), Opening(0, 200.0, 50.0)]
    pairs, invented = matched(planted, [Opening(0, 203.0, 53.0), Opening(0, 150.0, 4.0)])
    assert [told is None for _, told in pairs] == [True, False]
    assert invented == 1
    judged = Class("two", pairs, invented, 0.5, tail=False)
    assert (judged.sure, judged.missed, judged.far) == (2, 1, 1)


def test_a_contact_knows_how_long_it_was_apart() -> None:
    contact = Contact(0, 7, [10.0, 20.0, 25.0])
    assert contact.open_us(0, 30) == 15.0
    assert contact.open_us(12, 18) == 0.0
    assert contact.joined_at(26) and not contact.joined_at(22)


def test_a_few_openings_hold_the_bars() -> None:
    judged = tried(random.Random(4), 40, "few")
    assert (judged.missed, judged.far, judged.invented) == (0, 0, 0)
    assert judged.link_use > 0.3


def test_the_matrix_and_a_sound_membrane_hold_theirs() -> None:
    bars = matrix(random.Random(4), 12)[0] + quiet(random.Random(4), 0.05)[0]
    assert [bar.name for bar in bars if not bar.holds] == []
