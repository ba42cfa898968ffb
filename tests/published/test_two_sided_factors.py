"""Two-sided tolerance factors of a normal sample, exact.

The file holds 8 digits (n = 2 to 50 and more; computed, and equal to the open library toleranceinterval to 1e-13).
NIST/SEMATECH e-Handbook 7.2.6.3 (n = 43, content 0.90, confidence 0.99) prints 2.217316 for Howe's approximation, which
is right, and 2.210167 as exact, which is not: its call passes confidence and content wrongly.
"""

from __future__ import annotations

import math

import pytest

from adhesion_stats.statistics import k_two_sided
from tests.published_data import half_last_digit, rows

FILE = rows("k_two_sided_normal_exact.csv")


@pytest.mark.parametrize("row", FILE, ids=[f"n{row['n']}" for row in FILE])
def test_file_of_factors(row: dict[str, str]) -> None:
    """Three confidences by three contents, to half of the last digit given."""
    for name, text in row.items():
        if name != "n":
            confidence, content = name.removeprefix("conf").split("_content")
            actual = k_two_sided(n=int(row["n"]), content=float(content), confidence=float(confidence))
            # Eight significant digits; trailing zeros are lost in the file.
            tolerance = 0.5000005 * 10.0 ** (math.floor(math.log10(float(text))) - 7)
            assert actual == pytest.approx(float(text), abs=tolerance)


@pytest.mark.parametrize(
    ("n", "content", "confidence", "text"),
    [
        (3, 0.95, 0.95, "9.788752403"),
        (10, 0.90, 0.95, "2.856310849"),
        (10, 0.95, 0.95, "3.393429479"),
        (30, 0.95, 0.95, "2.554892813"),
        (43, 0.90, 0.99, "2.222825173791"),
        (25, 0.90, 0.99, "2.505926905"),
    ],
)
def test_anchors(n: int, content: float, confidence: float, text: str) -> None:
    """Ten digits and more, on which three open libraries and a separate integration agree."""
    actual = k_two_sided(n=n, content=content, confidence=confidence)
    assert actual == pytest.approx(float(text), abs=half_last_digit(text))


def test_e_handbook_7_2_6_3_exact_is_no_approximation() -> None:
    """The handbook's approximation 2.217316 lies below the exact factor; its 'exact' 2.210167 is off by 0.0127."""
    exact = k_two_sided(n=43, content=0.90, confidence=0.99)
    assert exact - 2.217316 == pytest.approx(0.005509, abs=1e-6)
    assert exact - 2.210167 == pytest.approx(0.012658, abs=1e-6)
