"""Two outliers in one tail: critical values computed elsewhere, those of Annals of Mathematical Statistics 21 (1950)
27-58, table V (as held in a public R package), and ISO 5725-2:1994, table 5 (recalled; agrees with computed ones).
"""

from __future__ import annotations

import pytest

from adhesion_stats.statistics import grubbs_pair_critical
from tests import oracle_outliers as oracle
from tests.published_data import half_last_digit, rows

COMPUTED = rows("grubbs_double_critical.csv")


@pytest.mark.parametrize("row", COMPUTED, ids=[f"n{row['n']}" for row in COMPUTED])
def test_computed_values(row: dict[str, str]) -> None:
    """Five levels, n = 4 to 30, to 3e-7: the file's own quadrature is off by that much in its seventh digit.

    Who is right: the total probability here is 1 within 1e-14, and ``test_who_is_right`` sides with it.
    """
    for name, text in row.items():
        if name.startswith("a"):
            actual = grubbs_pair_critical(n=int(row["n"]), alpha=float(name[1:]), sides="high")
            assert actual == pytest.approx(float(text), abs=3e-7)


def test_who_is_right() -> None:
    """N = 7, 10 %: the file says 0.1478937, here it is 0.1478936325; the plain twin agrees with here."""
    critical = grubbs_pair_critical(n=7, alpha=0.10, sides="low")
    assert critical == pytest.approx(0.14789363253, abs=5e-11)
    assert oracle.pair_below(critical, 7, points=14) == pytest.approx(0.10, abs=1e-12)
    assert abs(oracle.pair_below(0.1478937, 7, points=14) - 0.10) > 4e-8


@pytest.mark.parametrize(
    ("n", "cells"),
    [
        (5, (".0035", ".0090", ".0183")),
        (10, (".1415", ".1865", ".2305")),
        (20, (".3909", ".4391", ".4804")),
    ],
)
def test_table_of_1950(n: int, cells: tuple[str, str, str]) -> None:
    """1, 2.5, 5 %: to one unit of the fourth digit, since .1415 stands for .14144 and .1865 for .18645."""
    for alpha, cell in zip((0.01, 0.025, 0.05), cells, strict=True):
        assert grubbs_pair_critical(n=n, alpha=alpha, sides="low") == pytest.approx(float(cell), abs=0.0001)


@pytest.mark.parametrize(
    ("n", "cells", "exact"),
    [(25, (0.466, 0.511, 0.547), (0.4680, 0.5123, 0.5495)), (30, (0.528, 0.568, 0.602), (0.5268, 0.5672, 0.6008))],
)
def test_later_rows_of_the_table_are_off(n: int, cells: tuple[float, ...], exact: tuple[float, ...]) -> None:
    """The rows for n = 25 and 30 are 1 to 2.5 units of the third digit off; the exact values are these."""
    for alpha, cell, value in zip((0.01, 0.025, 0.05), cells, exact, strict=True):
        actual = grubbs_pair_critical(n=n, alpha=alpha, sides="low")
        assert actual == pytest.approx(value, abs=0.00005)
        assert 0.0007 < abs(actual - cell) < 0.0026


@pytest.mark.parametrize(("p", "at_1", "at_5"), [(5, ".0018", ".0090"), (10, ".1150", ".1864"), (20, ".3585", ".4391")])
def test_iso_5725_2_table_5(p: int, at_1: str, at_5: str) -> None:
    """Two largest or two smallest, 1 and 5 %: the two-sided points; .1864 for .18645 is half a digit and a hair."""
    assert grubbs_pair_critical(n=p, alpha=0.01, sides="two") == pytest.approx(float(at_1), abs=half_last_digit(at_1))
    assert grubbs_pair_critical(n=p, alpha=0.05, sides="two") == pytest.approx(float(at_5), abs=0.00006)
