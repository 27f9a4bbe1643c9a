"""Values of options, checked while they are parsed."""

from __future__ import annotations

import argparse
import math

from tailwise.words import commands as words

LARGEST = 1e7


def positive(text: str) -> float:
    """A number above 0, at most ten million (seconds: four months)."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not 0 < value <= LARGEST:
        raise argparse.ArgumentTypeError(words.usage_positive(text))
    return value


def whole_positive(text: str) -> int:
    """A whole number from 1 to 1024."""
    if not text.isdecimal() or not 1 <= int(text) <= 1024:
        raise argparse.ArgumentTypeError(words.usage_positive(text))
    return int(text)
