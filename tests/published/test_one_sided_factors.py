"""One-sided tolerance factors of a normal sample, sd unknown.

The file holds 10 digits (n = 2 to 50 and on to 1000); eleven values are known to 15 digits from arithmetic with 30 and
are compared at a relative 1e-13. Printed: NBS Handbook 91 table A-7 and ISO 16269-6 (cells recalled, equal to the
computed ones).
"""

from __future__ import annotations

import numpy as np
import pytest

from adhesion_stats.statistics import k_one_sided, tolerance_bound_lower
from tests.published_data import half_last_digit, rows

FILE = rows("k_one_sided_normal.csv")


@pytest.mark.parametrize("row", FILE, ids=[f"n{row['n']}" for row in FILE])
def test_file_of_factors(row: dict[str, str]) -> None:
    """Five confidences by six contents, to half of the last digit given."""
    for name, text in row.items():
        if name != "n":
            confidence, content = name.removeprefix("conf").split("_content")
            actual = k_one_sided(n=int(row["n"]), content=float(content), confidence=float(confidence))
            assert actual == pytest.approx(float(text), abs=half_last_digit(text))


@pytest.mark.parametrize(
    ("n", "content", "confidence", "k"),
    [
        (3, 0.95, 0.75, 3.15184213818450),
        (3, 0.90, 0.95, 6.15528110332626),
        (3, 0.99, 0.95, 10.5527301237065),
        (5, 0.95, 0.95, 4.20268074125618),
        (10, 0.95, 0.75, 2.10366754893682),
        (10, 0.90, 0.95, 2.35464013182906),
        (10, 0.99, 0.95, 3.98111784527306),
        (30, 0.95, 0.95, 2.21983753203506),
        (43, 0.90, 0.99, 1.87395360585120),
        (50, 0.95, 0.95, 2.06499341774398),
        (2, 0.999, 0.99, 246.557468779345),
    ],
)
def test_factors_with_15_digits(n: int, content: float, confidence: float, k: float) -> None:
    """A relative 1e-13: the last digit or two are left to the mathematical library of the machine."""
    assert k_one_sided(n=n, content=content, confidence=confidence) == pytest.approx(k, rel=1e-13)


@pytest.mark.parametrize(
    ("n", "content", "text"),
    [(10, 0.90, "2.355"), (10, 0.95, "2.911"), (10, 0.99, "3.981"), (5, 0.90, "3.407"), (5, 0.95, "4.203"), (5, 0.99,
    "5.741")],
)  # fmt: skip
def test_nbs_handbook_91_table_a7(n: int, content: float, text: str) -> None:
    """Confidence 0.95."""
    actual = k_one_sided(n=n, content=content, confidence=0.95)
    assert actual == pytest.approx(float(text), abs=half_last_digit(text))


def test_e_handbook_7_2_6_3() -> None:
    """NIST/SEMATECH e-Handbook 7.2.6.3: n = 43, content 0.90, confidence 0.99, non-central t 1.873954."""
    assert k_one_sided(n=43, content=0.90, confidence=0.99) == pytest.approx(1.873954, abs=0.0000005)


def test_lower_bounds_of_two_samples() -> None:
    """Ten values at 95/95: 2.2686620592, which an independent open library gives too; the first five at 75/95."""
    values = [3.1, 2.8, 3.3, 2.9, 3.6, 3.0, 3.2, 2.7, 3.4, 3.5]
    ten = tolerance_bound_lower(np.array([sorted(values)]), content=0.95, confidence=0.95)
    assert ten[0] == pytest.approx(2.2686620592, abs=5e-11)
    five = tolerance_bound_lower(np.array([sorted(values[:5])]), content=0.95, confidence=0.75)
    assert five[0] == pytest.approx(2.3494113135, abs=5e-11)
