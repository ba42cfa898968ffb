"""Reading of the published numbers in tests/published/data; what they are and where they come from says its
README.md.
"""

from __future__ import annotations

import csv
from pathlib import Path

FOLDER = Path(__file__).parent / "published" / "data"


def rows(name: str) -> list[dict[str, str]]:
    """Rows of a file, by heading, as text."""
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def half_last_digit(text: str) -> float:
    """Half a unit of the last digit printed, with room for the rounding of the comparison itself.

    >>> half_last_digit("2.355")
    0.0005
    """
    digits, _, exponent = text.strip().lower().partition("e")
    decimals = len(digits.partition(".")[2])
    return 0.5 * 10.0 ** (int(exponent or 0) - decimals) * (1.0 + 1e-6)


def agreement(value: float, certified: float) -> float:
    """Digits of agreement: -log10 of the relative error (of the absolute one where 0 is certified), 15 at most."""
    import math

    error = abs(value - certified) / (abs(certified) if certified else 1.0)
    return 15.0 if error == 0.0 else min(15.0, -math.log10(error))
