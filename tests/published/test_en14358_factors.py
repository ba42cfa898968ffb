"""EN 14358:2016, table 1 and formula (10), by a public transcript; borrowed from timber.

Table 1 prints two decimals; formula (10) is given here with four (computed from it as printed).
"""

from __future__ import annotations

import math

import pytest

from adhesion_stats.statistics import EN14358_TABLE_1, k_en14358, t_quantile
from tests.published_data import half_last_digit

PRINTED = "3 3.15, 5 2.46, 10 2.10, 15 1.99, 20 1.93, 30 1.87, 50 1.81, 100 1.76, 500 1.69"
EXACT = {3: 3.1518, 5: 2.4634, 10: 2.1037, 15: 1.9908, 20: 1.9320, 30: 1.8686, 50: 1.8109, 100: 1.7576, 500: 1.6929}
FORMULA = (3.1481, 2.4839, 2.0882, 1.9714, 1.9155, 1.8611, 1.8187, 1.7875, 1.7629)


def test_table_1_as_printed() -> None:
    """Nine cells, typed here a second time, and no others."""
    cells = [cell.split() for cell in PRINTED.split(", ")]
    assert [(int(n), float(k)) for n, k in cells] == list(EN14358_TABLE_1)
    assert all(k_en14358(n=int(n), factors="printed") == float(k) for n, k in cells)


@pytest.mark.parametrize("n", EXACT)
def test_table_1_rounds_the_exact_factor(n: int) -> None:
    """Half of the last printed digit, and the four digits of the exact value."""
    exact = k_en14358(n=n, factors="exact")
    assert exact == pytest.approx(dict(EN14358_TABLE_1)[n], abs=0.005)
    assert exact == pytest.approx(EXACT[n], abs=5e-5)


@pytest.mark.parametrize(("n", "k"), list(zip(EXACT, FORMULA, strict=True)))
def test_formula_10(n: int, k: float) -> None:
    """(6.5 n + 6) / (3.7 n - 3)."""
    assert k_en14358(n=n, factors="formula") == pytest.approx(k, abs=5e-5)


@pytest.mark.parametrize(
    ("n", "factor"), [(3, "0.4714"), (5, "0.3312"), (10, "0.2222"), (20, "0.1538"), (50, "0.0961")]
)
def test_factor_of_a_mean(n: int, factor: str) -> None:
    """One-sided 75 % limit of a mean: t quantile over root n, half of the last digit."""
    found = t_quantile(probability=0.75, degrees_of_freedom=n - 1) / math.sqrt(n)
    assert found == pytest.approx(float(factor), abs=half_last_digit(factor))
