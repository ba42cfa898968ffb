"""Dixon's critical values: exact ones computed elsewhere for all six ratios, and what printed tables hold beside them.

Printed: Annals of Mathematical Statistics 22 (1951), with the corrections of 1991; good to about 0.003 inside the
ranges that the ratios are recommended for (worst 0.0061, r22 at n = 17), and wrong by up to 0.027 outside.
"""

from __future__ import annotations

import math
from typing import get_args

import numpy as np
import pytest

from adhesion_stats.statistics import dixon_critical, dixon_p_value
from adhesion_stats.statistics.dixon import Ratio
from tests.published_data import half_last_digit, rows

EXACT = rows("dixon_exact_one_sided.csv")
PRINTED = rows("dixon_published_vs_exact.csv")
RATIOS: dict[str, Ratio] = {name: name for name in get_args(Ratio)}


@pytest.mark.parametrize("row", EXACT, ids=[f"{row['ratio']}-n{row['n']}" for row in EXACT])
def test_exact_values(row: dict[str, str]) -> None:
    """Ten levels from 30 to 0.1 %, to half of the tenth decimal."""
    ratio, n = RATIOS[row["ratio"]], int(row["n"])
    for name, text in row.items():
        if name.startswith("a"):
            actual = dixon_critical(ratio=ratio, n=n, alpha=float(name[1:]), sides="high")
            assert actual == pytest.approx(float(text), abs=half_last_digit(text))


@pytest.mark.parametrize("ratio", get_args(Ratio))
def test_printed_values_differ_as_said(ratio: Ratio) -> None:
    """Each entry of the printed table lies as far from the exact value as the list says."""
    mine = [row for row in PRINTED if row["ratio"] == ratio]
    assert len(mine) > 50
    for row in mine:
        actual = dixon_critical(ratio=ratio, n=int(row["n"]), alpha=float(row["alpha_one_sided"]), sides="low")
        assert actual == pytest.approx(float(row["exact"]), abs=half_last_digit(row["exact"]))
        assert float(row["table_value"]) - actual == pytest.approx(float(row["table_minus_exact"]), abs=0.0000501)


@pytest.mark.parametrize("alpha", [0.30, 0.10, 0.05, 0.025, 0.01, 0.001])
def test_closed_form_for_three_values(alpha: float) -> None:
    """For n = 3, r = 1/2 + (sqrt 3/2) tan(pi/3 (1/2 - alpha)), to 1e-12."""
    closed = 0.5 + 0.5 * math.sqrt(3.0) * math.tan(math.pi / 3.0 * (0.5 - alpha))
    assert dixon_critical(ratio="r10", n=3, alpha=alpha, sides="high") == pytest.approx(closed, abs=1e-12)


def test_closed_form_of_the_distribution_for_three_values() -> None:
    """For n = 3, P(R > r) = 1/2 - (3/pi) atan((2r - 1)/sqrt 3), to 1e-12 from 0 to 1."""
    r = np.linspace(0.0, 1.0, 501)
    closed = 0.5 - 3.0 / np.pi * np.arctan((2.0 * r - 1.0) / math.sqrt(3.0))
    assert np.abs(dixon_p_value(r, ratio="r10", n=3, sides="low") - closed).max() < 1e-12


# Thousandths for n = 3, 4, ... 29.
Q_TABLE = (
    *(970, 829, 710, 625, 568, 526, 493, 466, 444, 426, 410, 396, 384, 374),
    *(365, 356, 349, 342, 337, 331, 326, 321, 317, 312, 308, 305, 301),
)


@pytest.mark.parametrize(("n", "thousandths"), list(enumerate(Q_TABLE, start=3)))
def test_two_sided_q_table(n: int, thousandths: int) -> None:
    """The Q table of analytical chemistry headed 95 % is two-sided, and good to 0.0016 only (n = 6: 0.0025)."""
    tolerance = 0.0026 if n == 6 else 0.0016
    assert dixon_critical(ratio="r10", n=n, alpha=0.05, sides="two") == pytest.approx(thousandths / 1000, abs=tolerance)


def test_last_entry_of_the_q_table_is_wrong() -> None:
    """At n = 30 the table prints 0.290; the value is 0.298."""
    assert dixon_critical(ratio="r10", n=30, alpha=0.05, sides="two") == pytest.approx(0.298, abs=0.0005)
