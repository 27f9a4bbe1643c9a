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
